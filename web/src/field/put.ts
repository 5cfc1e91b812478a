/** What a conclusion writes into the yard's document when its owner takes it for true. */

import type { Schemas } from "../api/client.ts";
import { isList, isObject, same, withItem, withValue, type Json, type JsonObject } from "../document/json.ts";

const HEIGHTS = "spot_heights";

/** The document with it; what stands there already is not written twice. */
export function withPut(document: JsonObject, put: Schemas["PutOut"]): JsonObject {
  let found = without(document, put);
  for (const height of put.heights as Json[]) {
    const there = found[HEIGHTS];
    if (!isList(there) || !there.some((one) => same(one, height))) found = withItem(found, HEIGHTS, height);
  }
  return put.texture ? (withValue(found, ["soil", "texture"], put.texture) as JsonObject) : found;
}

/** The document less the heights that those of the log stand in for. */
function without(document: JsonObject, put: Schemas["PutOut"]): JsonObject {
  const there = document[HEIGHTS];
  if (!isList(there) || put.replaced.length === 0) return document;
  const gone = (one: Json) =>
    !put.heights.some((height) => same(one, height as Json)) &&
    put.replaced.some((place) => isObject(one) && near(one["at"], place));
  return there.some(gone) ? { ...document, [HEIGHTS]: there.filter((one) => !gone(one)) } : document;
}

function near(at: Json | undefined, place: readonly number[]): boolean {
  return isList(at) && place.every((value, k) => Math.abs(Number(at[k]) - value) < 1e-6);
}
