/**
 * Changes that are not saved yet, kept in the browser's own database (IndexedDB) until they are: a closed tab loses none.
 *
 * Each page that is open keeps its own, under an id that ends with it. What is found under the id of a page that is not
 * open any more was left behind, and is offered.
 */

import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import type { Pending } from "./history.ts";

const NAME = "rillwright-edits";
const VERSION = 1;
const CALL = "rillwright edits"; // channel between pages
const PATIENCE = 250; // [ms] for other pages to say that they are open

export interface Draft extends Pending {
  readonly yard: string;
  readonly page: string;
  readonly when: string;
}

interface Tables extends DBSchema {
  drafts: { key: [string, string]; value: Draft; indexes: { yard: string } };
}

export class Drafts {
  kept = false; // whether what was last handed over lies in the database
  private readonly base: Promise<IDBPDatabase<Tables>>;
  private readonly calls = new BroadcastChannel(CALL);
  private next: Pending | null | undefined; // undefined: nothing to write
  private writing: Promise<void> | null = null;

  constructor(
    private readonly yard: string,
    private readonly page: string,
    name = NAME,
  ) {
    this.base = openDB<Tables>(name, VERSION, {
      upgrade: (fresh) =>
        void fresh.createObjectStore("drafts", { keyPath: ["yard", "page"] }).createIndex("yard", "yard"),
    });
    this.base.catch(() => undefined); // told where it is used
    this.calls.onmessage = ({ data }: MessageEvent<{ ask?: true }>) => {
      if (data.ask) this.calls.postMessage({ here: this.page });
    };
  }

  /** Keep what waits to be saved; null when nothing does. The last word counts. */
  keep(pending: Pending | null): void {
    [this.next, this.kept] = [pending, false];
    this.writing ??= this.write().finally(() => (this.writing = null));
  }

  /** Wait until what was handed over lies in the database, where there is one. */
  async settled(): Promise<void> {
    await this.writing;
  }

  /** What pages left behind that are not open any more, oldest first. */
  async left(): Promise<Draft[]> {
    const all = await (await this.base).getAllFromIndex("drafts", "yard", this.yard);
    if (all.length === 0) return [];
    const open = await this.openPages();
    return all.filter((one) => !open.has(one.page)).sort((a, b) => a.when.localeCompare(b.when));
  }

  async remove(draft: Draft): Promise<void> {
    await (await this.base).delete("drafts", [draft.yard, draft.page]);
  }

  close(): void {
    this.calls.close();
    void this.settled()
      .then(() => this.base)
      .then((base) => base.close())
      .catch(() => undefined);
  }

  private async write(): Promise<void> {
    while (this.next !== undefined) {
      const pending = this.next;
      this.next = undefined;
      try {
        const base = await this.base;
        if (pending) await base.put("drafts", this.draft(pending));
        else await base.delete("drafts", [this.yard, this.page]);
        this.kept = true;
      } catch {
        this.kept = false; // a private window: the page then asks before it is closed
      }
    }
  }

  private draft(pending: Pending): Draft {
    return { ...pending, yard: this.yard, page: this.page, when: new Date().toISOString() };
  }

  private openPages(): Promise<Set<string>> {
    const open = new Set([this.page]);
    const calls = new BroadcastChannel(CALL);
    calls.onmessage = ({ data }: MessageEvent<{ here?: string }>) => data.here && open.add(data.here);
    calls.postMessage({ ask: true });
    return new Promise((resolve) =>
      setTimeout(() => {
        calls.close();
        resolve(open);
      }, PATIENCE),
    );
  }
}
