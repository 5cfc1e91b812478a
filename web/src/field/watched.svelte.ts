/** Work that the program does in the background: asked for, watched until it ends, shown as far as it is. */

import type { Schemas } from "../api/client.ts";

const EVERY = 700; // [ms] between looks while it is under way

type State = Schemas["WorkState"];

export class Watched<T extends { readonly state: State }> {
  found = $state.raw<T | null>(null);
  fault = $state("");
  readonly busy = $derived(this.found !== null && ["waiting", "running"].includes(this.found.state.status));
  private timer: ReturnType<typeof setTimeout> | undefined;
  private left = false;

  constructor(private readonly look: () => Promise<T>) {}

  /** See how far it is, and again until it has ended. */
  async read(): Promise<void> {
    clearTimeout(this.timer);
    try {
      this.found = await this.look();
      this.fault = "";
    } catch (error) {
      this.fault = (error as Error).message;
    }
    if (this.busy && !this.left) this.timer = setTimeout(() => void this.read(), EVERY);
  }

  /** Ask for it, or for its end, then watch. */
  async ask(asked: () => Promise<State>): Promise<void> {
    try {
      await asked();
    } catch (error) {
      this.fault = (error as Error).message;
      return;
    }
    await this.read();
  }

  leave(): void {
    this.left = true;
    clearTimeout(this.timer);
  }
}
