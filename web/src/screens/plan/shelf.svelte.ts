/** The plans of one yard: those that were made, the work on one under way, and the one that is shown. */

import { api, got, type Schemas } from "../../api/client.ts";
import type { YardSession } from "../../document/session.svelte.ts";
import { keepYard } from "../../field/shell.ts";
import { Bench, type Note } from "./bench.svelte.ts";

export type State = Schemas["PlanState"];

const HAVE = ["done", "stopped early"];
const UNDER_WAY = ["waiting", "running"];

export class Shelf {
  notes = $state.raw<readonly Note[] | null>(null);
  job = $state.raw<State | null>(null);
  bench = $state.raw<Bench | null>(null);
  opening = $state("");
  fault = $state("");
  private events: EventSource | null = null;
  private closed = false;

  readonly kept: readonly Note[] = $derived((this.notes ?? []).filter((note) => HAVE.includes(note.status)));
  readonly working: boolean = $derived(this.job !== null && UNDER_WAY.includes(this.job.note.status));

  constructor(readonly yard: YardSession) {}

  /** Read the list, show the current plan, and follow work that is under way. */
  async load(): Promise<void> {
    await this.tried(async () => {
      await this.list();
      const running = this.notes?.find((note) => UNDER_WAY.includes(note.status));
      if (running) this.follow(running.id);
      await this.showCurrent();
    });
  }

  /**
   * Plan the yard as it now is: from nothing, or on from the plan that is shown with its heads as they are set; another
   * seed starts the search elsewhere.
   */
  async start(on: "anew" | "on" = "anew", seed = 0): Promise<void> {
    await this.tried(async () => {
      await this.yard.settled();
      const params = { path: { yard: this.yard.id } };
      const begun = on === "on" && this.bench ? { start: this.bench.note.id, heads: this.bench.asked } : {};
      const body = { seed, heads: [], ...begun };
      const state = await got(api.POST("/api/yards/{yard}/plans", { params, body }));
      this.job = state;
      if (HAVE.includes(state.note.status)) await this.ended(state);
      else this.follow(state.note.id);
    });
  }

  async cancel(): Promise<void> {
    const plan = this.job?.note.id;
    if (plan) await this.tried(() => got(api.POST("/api/plans/{plan}/cancel", { params: { path: { plan } } })));
  }

  /** Lay a plan open. */
  async show(plan: string): Promise<void> {
    const note = this.kept.find((one) => one.id === plan);
    if (!note || this.bench?.note.id === plan) return;
    this.opening = plan;
    await this.tried(async () => {
      const bench = await Bench.open(note);
      if (this.opening === plan) this.bench = bench;
      void keepYard(this.yard.id);
    });
    if (this.opening === plan) this.opening = "";
  }

  async remove(plan: string): Promise<void> {
    await this.tried(async () => {
      await got(api.DELETE("/api/plans/{plan}", { params: { path: { plan } } }));
      if (this.bench?.note.id === plan) this.bench = null;
      await this.list();
      await this.showCurrent();
    });
  }

  close(): void {
    this.closed = true;
    this.events?.close();
  }

  private async showCurrent(): Promise<void> {
    const own = this.kept.find((note) => note.current);
    if (!this.bench && own) await this.show(own.id);
  }

  private async list(): Promise<void> {
    this.notes = await got(api.GET("/api/yards/{yard}/plans", { params: { path: { yard: this.yard.id } } }));
  }

  private follow(plan: string): void {
    this.events?.close();
    if (this.closed) return;
    const events = new EventSource(`/api/plans/${plan}/events`);
    this.events = events;
    events.addEventListener("state", (event) => {
      const state = JSON.parse((event as MessageEvent<string>).data) as State;
      this.job = state;
      if (UNDER_WAY.includes(state.note.status)) return;
      events.close();
      void this.tried(() => this.ended(state));
    });
  }

  private async ended(state: State): Promise<void> {
    await this.list();
    if (HAVE.includes(state.note.status)) {
      this.job = null;
      await this.show(state.note.id);
    }
  }

  private async tried(action: () => Promise<unknown>): Promise<void> {
    this.fault = "";
    try {
      await action();
    } catch (error) {
      this.fault = (error as Error).message;
    }
  }
}
