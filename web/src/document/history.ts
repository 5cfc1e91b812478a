/**
 * The history of one yard in one tab: every change is a step back, and is saved in order as a revision of its own.
 *
 * Undo and redo act at once and are told to the store after what was done before them; where this tab knows no
 * earlier state, the store is asked, so that undo reaches back over restarts. When the yard was changed elsewhere
 * meanwhile, the newest document of this tab is what the store puts together with the other, and nothing is sent any
 * more until a choice is made.
 */

import { same, type JsonObject } from "./json.ts";

export interface Kept {
  readonly number: number; // of the revision that the yard is at now
  readonly document: JsonObject;
  readonly canUndo: boolean;
  readonly canRedo: boolean;
}

/** What the store answers to a step on a revision that is not the last any more. */
export interface Stale {
  readonly current: number;
  readonly merged: JsonObject;
  readonly conflicts: readonly Conflict[];
  readonly mine: readonly string[];
  readonly theirs: readonly string[];
}

export interface Side {
  readonly present: boolean;
  readonly value?: unknown;
}

export interface Conflict {
  readonly pointer: string;
  readonly mine: Side;
  readonly theirs: Side;
}

/**
 * The store; each throws `StaleError` when the yard is at another revision, `save` always with what there is to choose
 * from, and `Unreachable` when it may work later.
 */
export interface Keeper {
  save(document: JsonObject, expected: number, what: string): Promise<Kept>;
  undo(expected: number): Promise<Kept>;
  redo(expected: number): Promise<Kept>;
  current(): Promise<Kept>;
}

export class StaleError extends Error {
  constructor(readonly stale: Stale | null) {
    super("The yard was changed elsewhere meanwhile.");
  }
}

export class Unreachable extends Error {}

/** What waits to be sent, and the document it leads to; null where only the store knows it. */
type Step =
  | { kind: "save"; document: JsonObject; what: string; tag: string }
  | { kind: "undo" | "redo"; document: JsonObject | null };

/** What is not saved yet, so that it can be taken up again in another page. */
export interface Pending {
  readonly document: JsonObject;
  readonly expected: number; // revision that it was made from
  readonly labels: readonly string[];
}

export type Saving = "saved" | "saving" | "waiting" | "choice" | "refused";

const RETRY = 3000; // [ms]
const GATHER = 250; // [ms] in which changes of one tag become one step

export class History {
  document: JsonObject;
  saving: Saving = "saved";
  stale: Stale | null = null;
  fault = "";
  private expected: number;
  private past: JsonObject[] = [];
  private future: JsonObject[] = [];
  private deeper: boolean;
  private further: boolean;
  private steps: Step[] = [];
  private sending = false;
  private moves = 0;
  private timer: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly keeper: Keeper,
    at: Kept,
    private readonly changed: () => void,
  ) {
    this.document = at.document;
    this.expected = at.number;
    this.deeper = at.canUndo;
    this.further = at.canRedo;
  }

  /** Revision that the store is known to be at. */
  get revision(): number {
    return this.expected;
  }

  /** How often this tab came to know another state of the store: an answer that was asked for before is too late. */
  get turn(): number {
    return this.moves;
  }

  /** What would be lost with this tab; null when all is saved. */
  get pending(): Pending | null {
    if (this.steps.length === 0 && !this.stale) return null;
    const labels = this.stale?.mine ?? this.steps.map((step) => (step.kind === "save" ? step.what : step.kind));
    return { document: this.document, expected: this.expected, labels: labels.filter(Boolean) };
  }

  get canUndo(): boolean {
    return (this.past.length > 0 || this.deeper) && this.open;
  }

  get canRedo(): boolean {
    return (this.future.length > 0 || this.further) && this.open;
  }

  /** Whether changes are taken: not while a choice waits or an older state is being fetched. */
  get open(): boolean {
    return this.stale === null && !this.steps.some((step) => step.document === null);
  }

  /** Make a change, told in words; changes in a row with the same tag, such as moves by arrow key, are one step. */
  change(document: JsonObject, what: string, tag = ""): void {
    if (!this.open || document === this.document) return;
    const last = this.steps.at(-1);
    if (tag && last?.kind === "save" && last.tag === tag) {
      last.document = document;
      last.what = what;
    } else {
      this.past.push(this.document);
      this.steps.push({ kind: "save", document, what, tag });
    }
    this.document = document;
    this.future = [];
    this.further = false;
    this.schedule();
  }

  undo(): void {
    if (!this.canUndo) return;
    const before = this.past.pop();
    if (before) {
      this.future.push(this.document);
      this.document = before;
    }
    this.steps.push({ kind: "undo", document: before ?? null });
    this.schedule();
  }

  redo(): void {
    if (!this.canRedo) return;
    const after = this.future.pop();
    if (after) {
      this.past.push(this.document);
      this.document = after;
    }
    this.steps.push({ kind: "redo", document: after ?? null });
    this.schedule();
  }

  /** Take up what another page left unsaved; where the yard is at another revision by now, there is a choice. */
  takeUp(pending: Pending): void {
    if (!this.open || this.steps.length > 0) return;
    const what = pending.labels.join("; ");
    this.past.push(this.document);
    [this.future, this.further, this.document] = [[], false, pending.document];
    this.moveTo(pending.expected);
    this.steps.push(saving(pending.document, what));
    this.schedule();
  }

  /** Settle a conflict with a document of one's choice. */
  choose(document: JsonObject): void {
    if (!this.stale) return;
    this.moveTo(this.stale.current);
    this.stale = null;
    [this.past, this.future, this.deeper, this.further] = [[], [], true, false];
    this.document = document;
    this.steps = [saving(document, "put together with a change made elsewhere")];
    this.schedule();
  }

  /** Show what the store has now, asked for at a turn of this tab, when nothing of it waits to be saved. */
  adopt(at: Kept, asked: number): void {
    if (this.steps.length > 0 || this.stale || at.number === this.expected || asked !== this.moves) return;
    this.show(at);
    this.changed();
  }

  /** Send what waits at once. */
  flush(): void {
    clearTimeout(this.timer);
    void this.send();
  }

  private schedule(wait = GATHER): void {
    if (this.saving !== "waiting") this.saving = "saving";
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.send(), wait);
    this.changed();
  }

  private async send(): Promise<void> {
    if (this.sending || this.stale) return;
    this.sending = true;
    try {
      for (let step = this.steps[0]; step && !this.stale; step = this.steps[0]) await this.advance(step);
      this.saving = this.stale ? "choice" : "saved";
      this.fault = "";
    } catch (error) {
      this.failed(error);
    } finally {
      this.sending = false;
      this.changed();
    }
  }

  private async advance(step: Step): Promise<void> {
    try {
      this.done(step, await this.sent(step));
    } catch (error) {
      if (!(error instanceof StaleError)) throw error;
      await this.stopped(step, error.stale);
    }
  }

  private sent(step: Step): Promise<Kept> {
    if (step.kind === "save") {
      step.tag = ""; // nothing joins what may have arrived
      return this.keeper.save(step.document, this.expected, step.what);
    }
    return step.kind === "undo" ? this.keeper.undo(this.expected) : this.keeper.redo(this.expected);
  }

  private done(step: Step, kept: Kept): void {
    this.steps.shift();
    this.moveTo(kept.number);
    if (step.kind === "save") return;
    if (step.document === null) this.take(step.kind, kept);
    // The store's way back is not this tab's where several steps were saved as one: what is shown is what is kept.
    else if (!same(step.document, kept.document)) this.steps.unshift(saving(step.document));
  }

  private take(kind: "undo" | "redo", kept: Kept): void {
    (kind === "undo" ? this.future : this.past).push(this.document);
    this.document = kept.document;
    if (kind === "undo") this.deeper = kept.canUndo;
    else this.further = kept.canRedo;
  }

  private show(at: Kept): void {
    this.moveTo(at.number);
    this.document = at.document;
    [this.past, this.future, this.deeper, this.further] = [[], [], at.canUndo, at.canRedo];
  }

  private moveTo(number: number): void {
    this.expected = number;
    this.moves += 1;
  }

  private failed(error: unknown): void {
    if (error instanceof Unreachable) {
      this.saving = "waiting";
      this.timer = setTimeout(() => void this.send(), RETRY);
    } else {
      this.saving = "refused";
      this.fault = error instanceof Error ? error.message : String(error);
    }
  }

  /**
   * The yard is at another revision than this tab thought. Where that is what the step leads to, its answer was lost;
   * where the step only asked for an older state, nothing of this tab is at stake. Otherwise what counts is the newest
   * document of this tab, whatever was under way: unless it is the one that was refused, it is sent in its place.
   */
  private async stopped(step: Step, stale: Stale | null): Promise<void> {
    const at = await this.keeper.current();
    if (step.document === null) {
      this.steps.shift();
      this.show(at);
    } else if (same(step.document, at.document)) {
      this.steps.shift();
      this.moveTo(at.number);
    } else if (stale && step.document === this.document) {
      this.stale = stale;
      this.steps = [];
    } else this.steps = [saving(this.document)];
  }
}

/** A step that saves a document; the store finds the words where none are given. */
function saving(document: JsonObject, what = ""): Step {
  return { kind: "save", document, what, tag: "" };
}
