/** The one outbox of the page: it sends from every screen, as long as the page is open anywhere. */

import { Outbox, type Item, type Kept } from "./outbox.ts";
import { post } from "./post.ts";
import { openShelf } from "./shelf.ts";

const AGAIN = 8000; // [ms] until what waits is tried again
const NAME = "rillwright outbox"; // of the lock and the channel between tabs

class Box {
  kept = $state.raw<readonly Kept[]>([]); // on the shelf, of every yard
  private ready = $state(false); // whether it is known what lies there
  private acting = $state(0); // how much is being laid there or taken away
  why = $state(""); // it still lies there
  shut = $state(false); // whether this device is let in no more
  readonly settled = $derived(this.ready && this.acting === 0); // whether all that was written lies there
  readonly waiting = $derived(this.kept.filter((one) => one.refused === undefined));
  readonly refused = $derived(this.kept.filter((one) => one.refused !== undefined && !one.aside));
  readonly aside = $derived(this.kept.filter((one) => one.aside));
  private outbox: Outbox | null = null;
  private opening: Promise<void> | null = null;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private others: BroadcastChannel | null = null;
  private readonly listeners = new Set<() => void>();

  /** Open the shelf, and send what waits there; once for the page. */
  start(): Promise<void> {
    this.opening ??= this.open();
    return this.opening;
  }

  /** Be told whenever something has arrived. Returns: what ends it. */
  onarrival(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /** Write items down. Errors: when this browser cannot keep them. */
  async keep(...items: Item[]): Promise<void> {
    await this.acted((outbox) => outbox.keep(...items));
  }

  /** Put right what was not taken, with items that go with it. */
  async mend(number: number, item: Item, ...more: Item[]): Promise<void> {
    await this.acted(async (outbox) => {
      await outbox.keep(...more);
      await outbox.mend(number, item);
    });
  }

  async again(number: number): Promise<void> {
    await this.acted((outbox) => outbox.again(number));
  }

  async confirm(number: number): Promise<void> {
    await this.acted((outbox) => outbox.confirm(number));
  }

  async setAside(number: number): Promise<void> {
    await this.acted((outbox) => outbox.setAside(number));
  }

  async drop(number: number): Promise<void> {
    await this.acted((outbox) => outbox.drop(number));
  }

  /** Send what waits, unless another tab is at it; what cannot be sent is tried again after a while. */
  async send(): Promise<void> {
    const { outbox } = this;
    if (!outbox) return;
    clearTimeout(this.timer);
    const before = this.kept.length;
    try {
      this.why = await alone(() => outbox.send());
      this.kept = await outbox.all();
    } catch (error) {
      this.why = (error as Error).message;
    }
    if (this.kept.length < before) this.listeners.forEach((listener) => listener());
    if (this.waiting.length > 0) this.timer = setTimeout(() => void this.send(), AGAIN);
  }

  private async acted(act: (outbox: Outbox) => Promise<void>): Promise<void> {
    this.acting += 1;
    try {
      await this.start();
      if (!this.outbox) throw new Error(this.why);
      await act(this.outbox);
    } finally {
      this.acting -= 1;
    }
    void this.send();
  }

  private async open(): Promise<void> {
    try {
      const shelf = await openShelf();
      this.outbox = new Outbox(
        shelf,
        (item) => this.posted(item),
        (kept) => this.show(kept),
      );
      this.kept = await shelf.all();
      this.ready = true;
    } catch {
      this.why = "This browser lets the page keep nothing (a private window?): open it in an ordinary one.";
      return;
    }
    this.listen(this.outbox);
    void navigator.storage?.persist?.();
    void this.send();
  }

  private listen(outbox: Outbox): void {
    this.others = new BroadcastChannel(NAME);
    this.others.onmessage = () => void this.look(outbox);
    window.addEventListener("online", () => void this.send());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && void this.send());
  }

  /** See what another tab has done. */
  private async look(outbox: Outbox): Promise<void> {
    const before = this.kept.length;
    this.kept = await outbox.all();
    if (this.kept.length < before) this.listeners.forEach((listener) => listener());
  }

  private show(kept: readonly Kept[]): void {
    this.kept = kept;
    this.others?.postMessage(null);
  }

  private async posted(item: Item) {
    const answer = await post(item);
    this.shut = answer.status === "later" && answer.shut === true;
    return answer;
  }
}

export const box = new Box();

/** Let one tab send at a time, where the browser has locks (on https and at this machine); the program keeps an id once anyway. */
async function alone(send: () => Promise<string>): Promise<string> {
  if (!navigator.locks) return send();
  return navigator.locks.request(NAME, { ifAvailable: true }, (lock) => (lock ? send() : ""));
}
