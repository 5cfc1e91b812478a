/** Work that takes a while, one piece after the other: whether any runs, and what went wrong with the last. */
export class Errand {
  #pending = $state(0);
  fault = $state("");
  #last: Promise<void> = Promise.resolve();

  get busy(): boolean {
    return this.#pending > 0;
  }

  /** Do it once what was asked before is done, and keep the words of what went wrong. */
  take(work: () => Promise<unknown>): Promise<void> {
    this.#pending += 1;
    this.#last = this.#last.then(() => this.#run(work));
    return this.#last;
  }

  async #run(work: () => Promise<unknown>): Promise<void> {
    this.fault = "";
    try {
      await work();
    } catch (error) {
      this.fault = (error as Error).message;
    } finally {
      this.#pending -= 1;
    }
  }
}
