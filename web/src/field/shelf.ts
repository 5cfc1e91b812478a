/** The shelf in the browser's own database (IndexedDB). */

import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import type { Kept, Shelf } from "./outbox.ts";

const NAME = "rillwright-field";
const VERSION = 1;

interface Tables extends DBSchema {
  outbox: { key: number; value: Omit<Kept, "number"> };
}

/** Open the shelf; keys grow with every item, so that they give the order. */
export async function openShelf(name = NAME): Promise<Shelf & { close(): void }> {
  const base: IDBPDatabase<Tables> = await openDB<Tables>(name, VERSION, {
    upgrade: (fresh) => void fresh.createObjectStore("outbox", { autoIncrement: true }),
  });
  return {
    async add(item) {
      const step = base.transaction("outbox", "readwrite", { durability: "strict" });
      await Promise.all([step.store.add({ item }), step.done]);
    },
    async all() {
      const step = base.transaction("outbox");
      const [numbers, values] = await Promise.all([step.store.getAllKeys(), step.store.getAll()]);
      return numbers.map((number, place): Kept => ({ number, ...values[place]! }));
    },
    async change(number, to) {
      const step = base.transaction("outbox", "readwrite", { durability: "strict" });
      const value = await step.store.get(number);
      if (value) {
        const { number: _, ...changed } = to({ number, ...value });
        await step.store.put(changed, number);
      }
      await step.done;
    },
    async remove(number) {
      await base.delete("outbox", number);
    },
    close: () => base.close(),
  };
}
