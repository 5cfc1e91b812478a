/** The plan's numbers before and after all readings together, out of the workings of a conclusion. */

import type { Schemas } from "../api/client.ts";

type Working = Schemas["WorkingOut"];

export interface Moved {
  readonly title: string;
  readonly before: readonly [string, string, string]; // 5 %, 50 %, 95 %, as printed
  readonly after: readonly [string, string, string];
}

const ENDS = ["low", "median", "high"] as const;

/** Rows of before and after, in the order of the workings. */
export function moved(workings: readonly Working[]): Moved[] {
  const by = new Map(workings.map((working) => [working.key, working]));
  return workings
    .filter(({ key }) => key.endsWith(".before-median"))
    .flatMap(({ key, title }) => {
      const stem = key.slice(0, -"before-median".length);
      const of = (when: string) => ENDS.map((end) => by.get(`${stem}${when}-${end}`)?.printed ?? "");
      const [before, after] = [of("before"), of("after")];
      if ([...before, ...after].includes("")) return [];
      const row = { title: title.replace(/, before$/, ""), before, after } as unknown as Moved;
      return [row];
    });
}
