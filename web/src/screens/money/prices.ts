/** Prices that the owner types, kept in the yard's document under `money.prices`. */

import { isList, isObject, valueAt, withValue, type Json, type JsonObject } from "../../document/json.ts";

const LIST = ["money", "prices"] as const;

/** The owner's price of a part, as it stands in the document; undefined without one. */
export function ownPrice(document: JsonObject, part: string): Json | undefined {
  return entries(document).find((one) => one["part"] === part)?.["price"];
}

/** Document with another price of a part; undefined takes the owner's price away. */
export function withPrice(document: JsonObject, part: string, price: number | undefined): JsonObject {
  const all = entries(document);
  const at = all.findIndex((one) => one["part"] === part);
  if (at < 0 && price === undefined) return document;
  const path = [...LIST, at < 0 ? all.length : at];
  if (price === undefined) return swept(withValue(document, path, undefined) as JsonObject);
  // With the price goes where it came from: what was true of the last one may not be of this.
  const { source: _, ...kept } = all[at] ?? { part };
  return withValue(document, path, { ...kept, price }) as JsonObject;
}

/** A price as typed: a number of at least 0, with a point or a comma; null when it is none; undefined when empty. */
export function readPrice(text: string): number | null | undefined {
  const typed = text.trim().replace(",", ".");
  if (!typed) return undefined;
  return /^(\d+\.?\d*|\.\d+)$/.test(typed) ? Number(typed) : null;
}

function entries(document: JsonObject): JsonObject[] {
  const list = valueAt(document, LIST);
  return isList(list) ? list.filter(isObject) : [];
}

/** Without a list that holds nothing, and without facts of money that hold nothing. */
function swept(document: JsonObject): JsonObject {
  if (entries(document).length > 0) return document;
  const bare = withValue(document, LIST, undefined) as JsonObject;
  const money = bare["money"];
  return isObject(money) && Object.keys(money).length === 0
    ? (withValue(bare, ["money"], undefined) as JsonObject)
    : bare;
}
