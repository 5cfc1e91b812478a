/**
 * What was written in the yard and is not known to have arrived: kept in the browser, sent in order.
 *
 * Never lost: an item leaves the shelf only after its receipt. Never twice: it is sent as it lies on the shelf, under
 * the id that it was given when it was written, and the program keeps an id once. In order: the next item is sent
 * when the one before it has been answered. What the program refuses stays on the shelf with the reason, and lets
 * the others pass; it is mended in its place and sent again, or set aside with its words.
 */

import type { Schemas } from "../api/client.ts";

export type Item =
  | { readonly kind: "entry"; readonly yard: string; readonly entry: Schemas["Entry"] }
  | {
      readonly kind: "photo";
      readonly yard: string;
      readonly id: string;
      readonly media: string;
      readonly bytes: ArrayBuffer;
    }
  | {
      readonly kind: "tick";
      readonly yard: string;
      readonly id: string;
      readonly step: string;
      readonly done: boolean;
      readonly made: string;
      readonly over: string | null; // the word on this step that was shown when it was written
    };

export interface Kept {
  readonly number: number; // order in which it was written
  readonly item: Item;
  readonly refused?: string; // why, when the program did not take it
  readonly asked?: readonly string[]; // what is to be confirmed so that it is taken
  readonly aside?: boolean; // whether it was laid aside; only what was not taken is
}

/** Where items lie; it outlives the page. */
export interface Shelf {
  add(item: Item): Promise<void>;
  all(): Promise<Kept[]>; // in order
  change(number: number, to: (kept: Kept) => Kept): Promise<void>; // nothing when it is gone
  remove(number: number): Promise<void>;
}

export type Answer =
  | { readonly status: "taken" }
  | { readonly status: "refused"; readonly why: string; readonly asked?: readonly string[] }
  | { readonly status: "later"; readonly why: string; readonly shut?: boolean }; // shut: this device is not let in

export type Post = (item: Item) => Promise<Answer>;

export class Outbox {
  private sending: Promise<string> | null = null;

  constructor(
    private readonly shelf: Shelf,
    private readonly post: Post,
    private readonly changed: (kept: readonly Kept[]) => void = () => undefined,
  ) {}

  /** Keep items; when this ends they lie on the shelf. Errors: those of the shelf. */
  async keep(...items: Item[]): Promise<void> {
    for (const item of items) await this.shelf.add(item);
    await this.tell();
  }

  /** Send what waits. Returns: why some still waits; empty when nothing does. */
  send(): Promise<string> {
    this.sending ??= this.sendAll().finally(() => (this.sending = null));
    return this.sending;
  }

  /** Put an item that was not taken right; it goes first, as it was written first. Its id is new, for the old one may be in use. */
  async mend(number: number, item: Item): Promise<void> {
    const before = (await this.shelf.all()).find((kept) => kept.number === number)?.item;
    await this.shelf.change(number, () => ({ number, item }));
    if (before?.kind === "entry" && item.kind === "entry") await this.follow(before.entry.id, item.entry.id);
    await this.tell();
  }

  /** Send an item that was not taken once more, as it is. */
  async again(number: number): Promise<void> {
    await this.shelf.change(number, ({ item }) => ({ number, item }));
    await this.tell();
  }

  /** Say that what was asked of an entry is so; it is sent once more, and marked. */
  async confirm(number: number): Promise<void> {
    await this.shelf.change(number, ({ item, asked }) => {
      if (item.kind !== "entry") return { number, item };
      const confirmed = [...(item.entry.confirmed ?? []), ...(asked ?? [])];
      return { number, item: { ...item, entry: { ...item.entry, confirmed } } };
    });
    await this.tell();
  }

  /** Lay an item aside: it is kept, and not sent. */
  async setAside(number: number): Promise<void> {
    await this.shelf.change(number, (kept) => ({ ...kept, refused: kept.refused ?? "not sent", aside: true }));
    await this.tell();
  }

  /** Delete an item for good. */
  async drop(number: number): Promise<void> {
    await this.shelf.remove(number);
    await this.tell();
  }

  all(): Promise<Kept[]> {
    return this.shelf.all();
  }

  private async tell(): Promise<void> {
    this.changed(await this.shelf.all());
  }

  private async sendAll(): Promise<string> {
    for (;;) {
      const next = (await this.shelf.all()).find((kept) => kept.refused === undefined);
      if (!next) return "";
      const answer = await this.post(next.item);
      if (answer.status === "later") return answer.why;
      if (answer.status === "taken") await this.shelf.remove(next.number);
      else await this.shelf.change(next.number, (kept) => ({ ...kept, refused: answer.why, asked: answer.asked }));
      await this.tell();
    }
  }

  /** Let what corrects an entry go on doing so under its new id. */
  private async follow(old: string, now: string): Promise<void> {
    for (const { number, item } of await this.shelf.all()) {
      if (item.kind !== "entry" || item.entry.corrects !== old) continue;
      const right: Item = { ...item, entry: { ...item.entry, corrects: now } };
      await this.shelf.change(number, (kept) => ({ ...kept, item: right }));
    }
  }
}
