/** The pipes of a plan as a network: what lies beyond one, and the way of a long section. */

import type { Schemas } from "../../api/client.ts";

/** Where a long section leads; without `to` its end is still to be chosen. */
export interface SectionWay {
  readonly to: string | null; // head, valve place or pipe
  readonly start: string | null; // the same; null for the water entry
}

type Run = Pick<Schemas["Pipe"], "zone" | "start" | "end">;

/** Heads that a lateral leads to; none for a pipe of the main. */
export function headsBeyond<H extends { readonly id: string }>(
  pipe: Run,
  pipes: readonly Run[],
  heads: readonly H[],
): H[] {
  if (!pipe.zone) return [];
  const own = pipes.filter((one) => one.zone === pipe.zone);
  const found = new Set([pipe.end]);
  const waiting = [pipe.end];
  for (let node = waiting.pop(); node !== undefined; node = waiting.pop()) {
    for (const one of own) {
      if (one.start !== node || found.has(one.end)) continue;
      found.add(one.end);
      waiting.push(one.end);
    }
  }
  return heads.filter((head) => found.has(head.id));
}
