/** Work that takes a while: whether it runs, and what went wrong with it last. */
export class Errand {
  busy = $state(false);
  fault = $state("");

  /** Do it, and keep the words of what went wrong. */
  async take(work: () => Promise<unknown>): Promise<void> {
    [this.busy, this.fault] = [true, ""];
    try {
      await work();
    } catch (error) {
      this.fault = (error as Error).message;
    } finally {
      this.busy = false;
    }
  }
}
