/** What a conclusion writes into the yard's document when its owner takes it for true. */

import type { Schemas } from "../api/client.ts";
import { isList, same, withItem, withValue, type Json, type JsonObject } from "../document/json.ts";

const HEIGHTS = "spot_heights";

/** The document with it; what stands there already is not written twice. */
export function withPut(document: JsonObject, put: Schemas["PutOut"]): JsonObject {
  let found = document;
  for (const height of put.heights as Json[]) {
    const there = found[HEIGHTS];
    if (!isList(there) || !there.some((one) => same(one, height))) found = withItem(found, HEIGHTS, height);
  }
  return put.texture ? (withValue(found, ["soil", "texture"], put.texture) as JsonObject) : found;
}
