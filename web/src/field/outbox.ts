/**
 * What was written in the yard and is not known to have arrived: kept in the browser, sent in order.
 *
 * Never lost: an item leaves the shelf only after its receipt. Never twice: it is sent as it lies on the shelf, under
 * the id that it was given when it was written, and the program keeps an id once. In order: the next item is sent
 * when the one before it has been answered. What the program refuses stays on the shelf with the reason, and lets
 * the others pass.
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
}

/** Where items lie; it outlives the page. */
export interface Shelf {
  add(item: Item): Promise<void>;
  all(): Promise<Kept[]>; // in order
  refuse(number: number, why: string): Promise<void>;
  remove(number: number): Promise<void>;
}

export type Answer =
  | { readonly status: "taken" }
  | { readonly status: "refused"; readonly why: string }
  | { readonly status: "later"; readonly why: string };

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

  /** Give up an item that the program refused. */
  async drop(number: number): Promise<void> {
    await this.shelf.remove(number);
    await this.tell();
  }

  async tell(): Promise<void> {
    this.changed(await this.shelf.all());
  }

  private async sendAll(): Promise<string> {
    for (;;) {
      const next = (await this.shelf.all()).find((kept) => kept.refused === undefined);
      if (!next) return "";
      const answer = await this.post(next.item);
      if (answer.status === "later") return answer.why;
      if (answer.status === "taken") await this.shelf.remove(next.number);
      else await this.shelf.refuse(next.number, answer.why);
      await this.tell();
    }
  }
}
