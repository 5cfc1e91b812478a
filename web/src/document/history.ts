/**
 * The history of one yard in one tab: every change is a step back, and is saved in order as a revision of its own.
 *
 * Undo and redo act at once and are told to the store after what was done before them; where this tab knows no
 * earlier state, the store is asked, so that undo reaches back over restarts. When the yard was changed elsewhere
 * meanwhile, nothing is sent any more until a choice is made.
 */

import type { JsonObject } from "./json.ts";

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
}

export class StaleError extends Error {
  constructor(readonly stale: Stale | null) {
    super("The yard was changed elsewhere meanwhile.");
  }
}

export class Unreachable extends Error {}

type Step =
  { kind: "save"; document: JsonObject; what: string; tag: string } | { kind: "undo" | "redo"; take: boolean };

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

  get canUndo(): boolean {
    return (this.past.length > 0 || this.deeper) && this.open;
  }

  get canRedo(): boolean {
    return (this.future.length > 0 || this.further) && this.open;
  }

  /** Whether changes are taken: not while a choice waits or an older state is being fetched. */
  get open(): boolean {
    return this.stale === null && !this.steps.some((step) => step.kind !== "save" && step.take);
  }

  /** Make a change, told in words; changes in a row with the same tag, such as moves by arrow key, are one step. */
  change(document: JsonObject, what: string, tag = ""): void {
    if (!this.open || document === this.document) return;
    const last = this.steps.at(-1);
    const mayJoin = this.steps.length > (this.sending ? 1 : 0);
    if (tag && mayJoin && last?.kind === "save" && last.tag === tag) {
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
    this.steps.push({ kind: "undo", take: !before });
    this.schedule();
  }

  redo(): void {
    if (!this.canRedo) return;
    const after = this.future.pop();
    if (after) {
      this.past.push(this.document);
      this.document = after;
    }
    this.steps.push({ kind: "redo", take: !after });
    this.schedule();
  }

  /** Settle a conflict with a document of one's choice. */
  choose(document: JsonObject): void {
    if (!this.stale) return;
    this.expected = this.stale.current;
    this.stale = null;
    [this.past, this.future, this.deeper, this.further] = [[], [], true, false];
    this.document = document;
    this.steps = [{ kind: "save", document, what: "put together with a change made elsewhere", tag: "" }];
    this.schedule();
  }

  /** Show what the store has now, when nothing of this tab waits to be saved. */
  adopt(at: Kept): void {
    if (this.steps.length > 0 || this.stale || at.number === this.expected) return;
    this.expected = at.number;
    this.document = at.document;
    [this.past, this.future, this.deeper, this.further] = [[], [], at.canUndo, at.canRedo];
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
      for (let step = this.steps[0]; step; step = this.steps[0]) {
        const kept = await this.sent(step);
        this.steps.shift();
        this.expected = kept.number;
        if (step.kind !== "save" && step.take) this.take(step.kind, kept);
      }
      this.saving = "saved";
      this.fault = "";
    } catch (error) {
      await this.failed(error);
    } finally {
      this.sending = false;
      this.changed();
    }
  }

  private sent(step: Step): Promise<Kept> {
    if (step.kind === "save") return this.keeper.save(step.document, this.expected, step.what);
    return step.kind === "undo" ? this.keeper.undo(this.expected) : this.keeper.redo(this.expected);
  }

  private take(kind: "undo" | "redo", kept: Kept): void {
    (kind === "undo" ? this.future : this.past).push(this.document);
    this.document = kept.document;
    if (kind === "undo") this.deeper = kept.canUndo;
    else this.further = kept.canRedo;
  }

  private async failed(error: unknown): Promise<void> {
    if (error instanceof StaleError) await this.stopped(error.stale);
    else if (error instanceof Unreachable) {
      this.saving = "waiting";
      this.timer = setTimeout(() => void this.send(), RETRY);
    } else {
      this.saving = "refused";
      this.fault = error instanceof Error ? error.message : String(error);
    }
  }

  /** Whatever was under way, what counts is the document of this tab: the store puts it together with its own. */
  private async stopped(stale: Stale | null): Promise<void> {
    if (stale) {
      this.stale = stale;
      this.saving = "choice";
      this.steps = [];
      return;
    }
    this.steps = [{ kind: "save", document: this.document, what: "", tag: "" }];
    try {
      const kept = await this.keeper.save(this.document, this.expected, "");
      this.expected = kept.number;
      this.saving = "saved";
      this.steps = [];
    } catch (error) {
      await this.failed(error);
    }
  }
}
