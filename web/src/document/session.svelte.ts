/** One yard opened in this tab: its document, what is wrong with it, and how far it is saved. */

import { api, got, Refused, type Schemas } from "../api/client.ts";
import type { System } from "../geometry/lengths.ts";
import { Drafts, type Draft } from "./drafts.ts";
import { History, StaleError, Unreachable, type Kept, type Keeper, type Saving, type Stale } from "./history.ts";
import { same, type JsonObject } from "./json.ts";

export type Place = Schemas["Place"];

const CHECK_AFTER = 300; // [ms]

const away = new Map<string, YardSession>(); // left with something unsaved

export class YardSession {
  document = $state.raw<JsonObject>({});
  problems = $state.raw<readonly Place[]>([]);
  checked = $state(false);
  saving = $state<Saving>("saved");
  stale = $state.raw<Stale | null>(null);
  fault = $state("");
  canUndo = $state(false);
  canRedo = $state(false);
  revision = $state(0);
  left = $state.raw<readonly Draft[]>([]); // unsaved, of pages that are not open any more
  private readonly history: History;
  private readonly drafts: Drafts;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private asked = 0;

  private constructor(
    readonly id: string,
    at: Kept,
  ) {
    this.drafts = new Drafts(id, `${Date.now()} ${Math.random()}`);
    this.history = new History(keeper(id), at, () => this.mirror());
    this.mirror();
    void this.findLeft().catch(() => undefined); // without a database nothing was left
  }

  /** Open a yard, or go on with what is unsaved of it. Errors: Refused when there is none, or no answer comes. */
  static async open(id: string): Promise<YardSession> {
    const before = away.get(id);
    away.delete(id);
    if (before && before.saving !== "saved") return before;
    return new YardSession(id, kept(await got(current(id))));
  }

  get units(): System {
    return this.document["units"] === "metric" ? "metric" : "US";
  }

  get name(): string {
    const name = this.document["name"];
    return typeof name === "string" && name ? name : "Unnamed yard";
  }

  /** Change the document; see `History.change`. */
  change(document: JsonObject, what: string, tag = ""): void {
    this.history.change(document, what, tag);
  }

  undo(): void {
    this.history.undo();
  }

  redo(): void {
    this.history.redo();
  }

  choose(document: JsonObject): void {
    this.history.choose(document);
  }

  flush(): void {
    this.history.flush();
  }

  /** Whether what is not saved is kept in this browser all the same. */
  get safe(): boolean {
    return this.saving === "saved" || this.drafts.kept;
  }

  /** Show this yard no more; what is not saved goes on being tried. */
  leave(): void {
    this.history.flush();
    if (this.saving === "saved") this.drafts.close();
    else away.set(this.id, this);
  }

  /** Take up what a page left unsaved. */
  async takeUp(draft: Draft): Promise<void> {
    this.history.takeUp(draft);
    if (this.document !== draft.document) return; // not now: something else is being saved
    await this.drafts.settled();
    await this.forget(draft);
  }

  /** Delete what a page left unsaved. */
  async forget(draft: Draft): Promise<void> {
    await this.drafts.remove(draft);
    this.left = this.left.filter((one) => one !== draft);
  }

  /** Wait until all changes are kept. Errors: Refused when they cannot be. */
  async settled(): Promise<void> {
    this.history.flush();
    for (let turn = 0; this.saving === "saving"; turn += 1) {
      await new Promise((resolve) => setTimeout(resolve, 50));
      if (turn > 200) break;
    }
    if (this.saving !== "saved") throw new Refused(0, this.fault || "The last changes are not kept yet.");
  }

  /** Look whether another tab changed the yard. */
  async refresh(): Promise<void> {
    const { turn } = this.history;
    this.history.adopt(kept(await got(current(this.id))), turn);
  }

  private async findLeft(): Promise<void> {
    const found = await this.drafts.left();
    const news = found.filter((one) => !same(one.document, this.document));
    await Promise.all(found.filter((one) => !news.includes(one)).map((one) => this.drafts.remove(one)));
    this.left = news;
  }

  private mirror(): void {
    const { history } = this;
    this.drafts.keep(history.pending);
    if (history.document !== this.document) {
      this.document = history.document;
      clearTimeout(this.timer);
      this.timer = setTimeout(() => void this.check(), CHECK_AFTER);
    }
    this.saving = history.saving;
    this.stale = history.stale;
    this.fault = history.fault;
    this.canUndo = history.canUndo;
    this.canRedo = history.canRedo;
    this.revision = history.revision;
  }

  private async check(): Promise<void> {
    const turn = (this.asked += 1);
    try {
      const body = { document: this.document as Record<string, unknown> };
      const answer = await got(api.POST("/api/board/check", { body }));
      if (turn === this.asked) [this.problems, this.checked] = [answer.problems, true];
    } catch {
      // Without an answer the list stays as it was; saving tells that the program does not answer.
    }
  }
}

function current(yard: string): Asked {
  return api.GET("/api/yards/{yard}/revisions/current", { params: { path: { yard } } });
}

function kept(revision: Schemas["Revision"]): Kept {
  return {
    number: revision.current,
    document: revision.document as JsonObject,
    canUndo: revision.can_undo,
    canRedo: revision.can_redo,
  };
}

function keeper(yard: string): Keeper {
  const params = { path: { yard } };
  return {
    save: (document, expected, what) =>
      told(
        api.POST("/api/yards/{yard}/revisions", {
          params,
          body: { document: document as Record<string, unknown>, expected, what: what.slice(0, 200) },
        }),
      ),
    undo: (expected) => moved(api.POST("/api/yards/{yard}/undo", { params, body: { expected } })),
    redo: (expected) => moved(api.POST("/api/yards/{yard}/redo", { params, body: { expected } })),
    current: () => told(current(yard)),
  };
}

type Asked = Parameters<typeof got<Schemas["Revision"]>>[0];

/** What the store answers; its refusals turned into what the history knows. */
async function told(asked: Asked): Promise<Kept> {
  try {
    return kept(await got(asked));
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    if (error.status === 0 || error.status >= 500) throw new Unreachable(error.message);
    const body = error.body as Partial<Schemas["StaleProblem"]> | null;
    if (error.status === 409 && body?.merged) throw new StaleError(staleOf(body as Schemas["StaleProblem"]));
    throw error;
  }
}

/** The same of undo and redo, whose 409 has nothing to choose from. */
async function moved(asked: Asked): Promise<Kept> {
  try {
    return await told(asked);
  } catch (error) {
    if (error instanceof Refused && error.status === 409) throw new StaleError(null);
    throw error;
  }
}

function staleOf(body: Schemas["StaleProblem"]): Stale {
  return {
    current: body.current,
    merged: body.merged as JsonObject,
    conflicts: body.conflicts,
    mine: body.mine.map((change) => change.label),
    theirs: body.theirs.map((change) => change.label),
  };
}
