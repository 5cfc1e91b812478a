/** What is done and measured in one yard: the current plan, its steps and ticks, the log, and what waits to be sent. */

import { api, got, Refused, type Schemas } from "../api/client.ts";
import type { JsonObject } from "../document/json.ts";
import type { SitePoint } from "../geometry/points.ts";
import { newId } from "./ids.ts";
import { rows, type Entry } from "./log.ts";
import { box } from "./box.svelte.ts";
import type { Item, Kept } from "./outbox.ts";
import type { Picture } from "./photo.ts";
import type { Step } from "./steps.ts";

const MOST = 1000; // entries at once

type Plan = Schemas["Plan"];
/** What is written down; the rest of an entry is added on its way. */
export type Draft = Pick<Entry, "what" | "words"> &
  Partial<Pick<Entry, "corrects" | "withdraws" | "at" | "photos" | "when">>;

/** What stands in a form that was left, to look for a place, say. */
export interface Unwritten {
  readonly fields: Record<string, string>;
  readonly subject: string;
  readonly cups: { at: readonly [number, number]; depth: string }[];
  readonly note: string;
  readonly when: string;
  readonly whole: JsonObject;
  readonly test: JsonObject;
  readonly pictures: readonly Picture[];
  readonly here: SitePoint | null;
}

interface Word {
  readonly id: string;
  readonly done: boolean;
}

export class FieldWork {
  plan = $state.raw<Plan | null>(null);
  steps = $state.raw<readonly Step[]>([]); // of that plan, in their order
  planNote = $state.raw<Schemas["PlanNote"] | null>(null);
  read = $state(false); // whether the program, or what was kept of it, has answered
  fault = $state("");
  here = $state.raw<SitePoint | null>(null); // last found place of whoever writes
  within = $state<number | null>(null); // [m] that it may be off, either way
  readonly unwritten = new Map<string, Unwritten>(); // forms left half filled in, by kind
  private stored = $state.raw<readonly Schemas["StoredEntry"][]>([]);
  private ticked = $state.raw<readonly Schemas["Tick"][]>([]);
  private shown = $state.raw<ReadonlySet<string>>(new Set()); // items that the program knows to be done, by ticks and log
  private said = $state.raw<ReadonlyMap<string, Word>>(new Map()); // by step, the last word of this page that was not read back yet
  private deaf: () => void = () => undefined;

  readonly log = $derived.by(() => rows(this.stored, box.kept, this.yard));
  readonly done = $derived.by(() => this.ticks());
  readonly contested = $derived(new Map(this.ticked.filter((one) => one.contested).map((one) => [one.step, one])));

  constructor(readonly yard: string) {}

  /** Read what the program has, and again whenever something has arrived there. */
  async start(): Promise<void> {
    this.deaf = box.onarrival(() => void this.reread());
    await Promise.all([box.start(), this.load()]);
  }

  stop(): void {
    this.deaf();
  }

  /** Read plan, ticks and log. */
  async load(): Promise<void> {
    const path = { yard: this.yard };
    try {
      const plans = await got(api.GET("/api/yards/{yard}/plans", { params: { path } }));
      await this.readBack(this.readPlan(plans));
      [this.read, this.fault] = [true, ""];
    } catch (error) {
      this.fault = (error as Error).message;
    }
  }

  /** Write an entry down, with the photos that go with it. Errors: when this browser cannot keep it. */
  async write(entry: Draft, pictures: readonly Picture[] = []): Promise<void> {
    await box.keep(...this.items(entry, new Date().toISOString(), pictures));
  }

  /** Put an entry that was not taken right. Errors: as of `write`. */
  async mend(kept: Kept, { what, words, when }: Draft, pictures: readonly Picture[]): Promise<void> {
    if (kept.item.kind !== "entry") return;
    const { id: _, made, confirmed: __, ...entry } = kept.item.entry;
    const items = this.items({ ...entry, what, words, when: when ?? entry.when }, made, pictures);
    await box.mend(kept.number, items.at(-1)!, ...items.slice(0, -1));
  }

  async tick(step: string, done: boolean): Promise<void> {
    const [id, made] = [newId(), new Date().toISOString()];
    const over = this.wordOn(step);
    this.said = new Map(this.said).set(step, { id, done });
    await box.keep({ kind: "tick", yard: this.yard, id, step, done, made, over });
  }

  /** Photos, and the entry that they go with, as they lie on the shelf. */
  private items(entry: Draft, made: string, pictures: readonly Picture[]): Item[] {
    const photos = pictures.map((picture): Item => ({ kind: "photo", yard: this.yard, id: newId(), ...picture }));
    const ids = photos.map((photo) => (photo.kind === "photo" ? photo.id : ""));
    const full = {
      withdraws: false,
      ...entry,
      id: newId(),
      made,
      confirmed: [],
      photos: [...(entry.photos ?? []), ...ids],
    };
    // A proxy of the screen cannot lie on the shelf: plain data only.
    const plain = JSON.parse(JSON.stringify(full)) as Entry;
    return [...photos, { kind: "entry", yard: this.yard, entry: plain }];
  }

  private async reread(): Promise<void> {
    try {
      await this.readBack();
    } catch (error) {
      if (!(error instanceof Refused)) throw error; // what was sent is safe; it is read the next time
    }
  }

  /** Read what moves; the page's own words that had arrived before stand in what was read from then on. */
  private async readBack(plan: Promise<void> = Promise.resolve()): Promise<void> {
    const waiting = new Set(box.waiting.map(({ item }) => (item.kind === "tick" ? item.id : "")));
    const arrived = new Set([...this.said.values()].map(({ id }) => id).filter((id) => !waiting.has(id)));
    await Promise.all([plan.then(() => this.readDone()), this.readTicks(), this.readLog()]);
    this.said = new Map([...this.said].filter(([, { id }]) => !arrived.has(id)));
  }

  private async readPlan(plans: readonly Schemas["PlanNote"][]): Promise<void> {
    const own = plans.find((plan) => plan.current) ?? null;
    if (own && own.id === this.planNote?.id) return;
    const params = { path: { plan: own?.id ?? "" } };
    this.plan = own ? ((await got(api.GET("/api/plans/{plan}/document", { params }))) as Plan) : null;
    this.steps = own ? ((await got(api.GET("/api/plans/{plan}/steps", { params }))) as Step[]) : [];
    this.planNote = own;
  }

  private async readTicks(): Promise<void> {
    this.ticked = await got(api.GET("/api/yards/{yard}/ticks", { params: { path: { yard: this.yard } } }));
  }

  private async readLog(): Promise<void> {
    const found: Schemas["StoredEntry"][] = [];
    for (;;) {
      const params = { path: { yard: this.yard }, query: { after: found.at(-1)?.seq ?? 0, most: MOST } };
      const more = (await got(api.GET("/api/yards/{yard}/log", { params }))) as Schemas["StoredEntry"][];
      found.push(...more);
      if (more.length < MOST) break;
    }
    this.stored = found;
  }

  /** The last word on a step that this device knows: one of its own, sent or not, else the program's. */
  private wordOn(step: string): string | null {
    const own = box.kept.flatMap(({ item }) =>
      item.kind === "tick" && item.yard === this.yard && item.step === step ? [item.id] : [],
    );
    return this.said.get(step)?.id ?? own.at(-1) ?? this.ticked.find((one) => one.step === step)?.id ?? null;
  }

  /** What ticks and log together show to be done. */
  private async readDone(): Promise<void> {
    const plan = this.planNote?.id;
    if (!plan) return;
    const found = await got(api.GET("/api/plans/{plan}/done", { params: { path: { plan } } }));
    this.shown = new Set(Object.keys(found));
  }

  /** Steps that are done: as the program has them, with what waits on top. */
  private ticks(): ReadonlySet<string> {
    const done = new Set(this.planNote ? this.shown : []);
    const say = (step: string, word: boolean) => (word ? done.add(step) : done.delete(step));
    for (const [step, word] of this.said) say(step, word.done);
    for (const { item, refused } of box.kept) {
      if (item.kind === "tick" && item.yard === this.yard && refused === undefined) say(item.step, item.done);
    }
    return done;
  }
}
