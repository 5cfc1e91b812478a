/** The shelf in the browser's own database (IndexedDB). */

import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import type { Item, Kept, Shelf } from "./outbox.ts";

const NAME = "rillwright-field";
const VERSION = 1;

interface Tables extends DBSchema {
  outbox: { key: number; value: { item: Item; refused?: string } };
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
    async refuse(number, refused) {
      const step = base.transaction("outbox", "readwrite");
      const value = await step.store.get(number);
      if (value) await step.store.put({ ...value, refused }, number);
      await step.done;
    },
    async remove(number) {
      await base.delete("outbox", number);
    },
    close: () => base.close(),
  };
}
