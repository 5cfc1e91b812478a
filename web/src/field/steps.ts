/** The steps of the build, as the program's guide has them, and how far they are. */

import type { Schemas } from "../api/client.ts";

export type Step = Schemas["Step"];
type Item = Schemas["Item"];

export function countDone(steps: readonly Step[], done: ReadonlySet<string>): { done: number; all: number } {
  const items = steps.flatMap((step) => step.items);
  return { done: items.filter((item) => done.has(item.key)).length, all: items.length };
}

export function itemsLeft(step: Step, done: ReadonlySet<string>): Item[] {
  return step.items.filter((item) => !done.has(item.key));
}
