/** Settling what two sides changed at once: one side for each value, and the document that comes of it. */

import type { Conflict, Stale } from "./history.ts";
import { pathOf, withValue, type Json, type JsonObject } from "./json.ts";

export type Which = "mine" | "theirs";

/** The side that holds unless another is picked: a deletion never wins over a change by itself. */
export function usual(conflict: Conflict): Which {
  return conflict.mine.present ? "mine" : "theirs";
}

/** The merged document with the sides picked, by pointer. */
export function putTogether(stale: Stale, picked: Readonly<Record<string, Which>>): JsonObject {
  let document: JsonObject = stale.merged;
  // Deletions last and from the end, so that the places of other items hold until then.
  const chosen = stale.conflicts.map((conflict) => ({
    path: pathOf(conflict.pointer),
    side: conflict[picked[conflict.pointer] ?? usual(conflict)],
  }));
  for (const { path, side } of chosen.filter((one) => one.side.present)) {
    document = withValue(document, path, side.value as Json) as JsonObject;
  }
  for (const { path } of chosen.filter((one) => !one.side.present).reverse()) {
    document = withValue(document, path, undefined) as JsonObject;
  }
  return document;
}
