/** Work that the program does in the background: asked for, watched until it ends, shown as far as it is. */

import type { Schemas } from "../api/client.ts";

const EVERY = 700; // [ms] between looks while it is under way

type State = Schemas["WorkState"];

export class Watched<T extends { readonly state: State }> {
  found = $state.raw<T | null>(null);
  fault = $state("");
  private asking = $state(false);
  readonly running = $derived(this.found !== null && ["waiting", "running"].includes(this.found.state.status));
  readonly busy = $derived(this.asking || this.running); // what was found before holds no longer
  private timer: ReturnType<typeof setTimeout> | undefined;
  private turn = 0; // of the last look: what an earlier one still brings is old
  private left = false;

  constructor(private readonly look: () => Promise<T>) {}

  /** See how far it is, and again until it has ended. */
  async read(): Promise<void> {
    clearTimeout(this.timer);
    const turn = ++this.turn;
    try {
      const found = await this.look();
      if (turn !== this.turn) return;
      this.found = found;
      this.fault = "";
    } catch (error) {
      if (turn !== this.turn) return;
      this.fault = (error as Error).message;
    }
    if (this.running && !this.left) this.timer = setTimeout(() => void this.read(), EVERY);
  }

  /** Ask for it, or for its end, then watch. */
  async ask(asked: () => Promise<State>): Promise<void> {
    this.asking = true;
    try {
      await asked();
      await this.read();
    } catch (error) {
      this.fault = (error as Error).message;
    } finally {
      this.asking = false;
    }
  }

  leave(): void {
    this.left = true;
    clearTimeout(this.timer);
  }
}
