/** Places and values of a yard document in words, for who reads no paths. */

import { showArea } from "../geometry/lengths.ts";
import { signedArea } from "../geometry/rings.ts";
import { isList, isObject, valueAt, type Json, type JsonObject, type Path } from "./json.ts";
import { readPoints, systemOf } from "./reading.ts";

const ONE: Readonly<Record<string, string>> = {
  areas: "area",
  trees: "tree",
  spot_heights: "spot height",
  supply: "reading",
  holes: "hole",
};
const KINDS = ["areas", "existing", "pins"]; // lists whose items are told by their name alone

const plain = (word: string | number) => String(word).replaceAll("_", " ");

/** Where a path leads, such as 'front lawn, exposure'. */
export function placeTold(document: JsonObject, path: Path): string {
  const words: string[] = [];
  path.forEach((step, depth) => {
    if (typeof step === "string") {
      if (typeof path[depth + 1] !== "number") words.push(plain(step));
      return;
    }
    const list = String(path[depth - 1] ?? "");
    const id = valueAt(document, [...path.slice(0, depth + 1), "id"]);
    if (typeof id !== "string" || !id) words.push(`${ONE[list] ?? plain(list)} ${step + 1}`);
    else words.push(KINDS.includes(list) ? id : `${ONE[list] ?? plain(list)} ${id}`);
  });
  return words.join(", ") || "the yard";
}

/** What a value says, in one line. */
export function valueTold(document: JsonObject, value: Json | undefined): string {
  if (value === undefined || value === null) return "not given";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (isList(value)) return listTold(document, value);
  if (!isObject(value)) return String(value);
  const own = ["id", "kind"].flatMap((key) => (typeof value[key] === "string" ? [value[key]] : []));
  const rest = Object.entries(value)
    .filter(([key]) => !["id", "kind"].includes(key))
    .map(([key, one]) => `${plain(key)} ${valueTold(document, one)}`);
  return [...new Set(own), ...rest].join(", ") || "nothing";
}

function listTold(document: JsonObject, list: readonly Json[]): string {
  const system = systemOf(document);
  const ring = readPoints(list, system);
  if (ring && ring.length > 2) {
    const area = showArea(Math.abs(signedArea(ring)), system);
    return `${ring.length} corners round ${area}, the first at ${valueTold(document, list[0])}`;
  }
  if (ring && ring.length > 0) return `${ring.length} points`;
  if (list.length === 0) return "none";
  const inner = list.map((one) => valueTold(document, one));
  return list.every((one) => !isObject(one) && !isList(one)) ? inner.join(", ") : inner.join("; ");
}
