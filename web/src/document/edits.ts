/** Changes of a yard document: each takes a document and gives another. Points come in metres and go in the file's unit. */

import { toFile, type System } from "../geometry/lengths.ts";
import type { SitePoint } from "../geometry/points.ts";
import { moveRing, type Ring } from "../geometry/rings.ts";
import { isList, isObject, valueAt, withItem, withValue, type Json, type JsonObject, type Path } from "./json.ts";
import { oldPoints, readDrawable, readPoint, systemOf, type AreaKind } from "./reading.ts";

export function pointToFile([x, y]: SitePoint, system: System): Json {
  return [toFile(x, system), toFile(y, system)];
}

/** Ring for the file; corners that did not move keep the very numbers or texts that stand there. */
function ringToFile(ring: Ring, before: Json | undefined, system: System): Json {
  const kept = new Map<string, Json>();
  for (const corner of isList(before) ? before : []) {
    const at = readPoint(corner, system);
    if (at) kept.set(at.join(), corner);
  }
  return ring.map((corner) => kept.get([corner[0], corner[1]].join()) ?? pointToFile(corner, system));
}

/** Id that no area, tree or thing in the ground has yet: the word itself, or the word with a number. */
export function freeId(document: JsonObject, word: string): string {
  const taken = new Set<Json | undefined>();
  for (const path of [["areas"], ["trees"], ["existing", "heads"], ["existing", "pipes"], ["existing", "places"]]) {
    const list = valueAt(document, path);
    for (const item of isList(list) ? list : []) if (isObject(item)) taken.add(item["id"]);
  }
  if (!taken.has(word)) return word;
  let number = 2;
  while (taken.has(`${word} ${number}`)) number += 1;
  return `${word} ${number}`;
}

export function addArea(document: JsonObject, kind: AreaKind, outline: Ring, word: string = kind): [JsonObject, Path] {
  const system = systemOf(document);
  const item = { id: freeId(document, word), kind, outline: ringToFile(outline, undefined, system) };
  const count = isList(document["areas"]) ? document["areas"].length : 0;
  return [withItem(document, "areas", item), ["areas", count]];
}

/** Put an outline (hole null) or a hole of an area in place; a hole beyond the last is a new one. */
export function setRing(document: JsonObject, area: Path, hole: number | null, ring: Ring): JsonObject {
  const path = hole === null ? [...area, "outline"] : [...area, "holes", hole];
  return withValue(document, path, ringToFile(ring, valueAt(document, path), systemOf(document))) as JsonObject;
}

export function removeHole(document: JsonObject, area: Path, hole: number): JsonObject {
  const left = withValue(document, [...area, "holes", hole], undefined) as JsonObject;
  const holes = valueAt(left, [...area, "holes"]);
  return isList(holes) && holes.length === 0 ? (withValue(left, [...area, "holes"], undefined) as JsonObject) : left;
}

export function setPoint(document: JsonObject, item: Path, at: SitePoint): JsonObject {
  return withValue(document, [...item, "at"], pointToFile(at, systemOf(document))) as JsonObject;
}

/** Move an area with its holes, or a point, by so much [m]. */
export function moveItem(document: JsonObject, item: Path, by: SitePoint): JsonObject {
  const drawn = readDrawable(document);
  const area = drawn.areas.find((one) => samePath(one.path, item));
  if (area) {
    const moved = setRing(document, item, null, moveRing(area.outline, by));
    return area.holes.reduce((made, hole, number) => setRing(made, item, number, moveRing(hole, by)), moved);
  }
  const pipe = drawn.existing.find((one) => one.kind === "pipe" && samePath(one.path, item));
  if (pipe) {
    const path = pipe.points.map(([x, y]) => pointToFile([x + by[0], y + by[1]], drawn.system));
    return withValue(document, [...item, "path"], path) as JsonObject;
  }
  const point = [...drawn.points, ...oldPoints(drawn)].find((one) => samePath(one.path, item));
  return point ? setPoint(document, item, [point.at[0] + by[0], point.at[1] + by[1]]) : document;
}

export function addTree(document: JsonObject, at: SitePoint): [JsonObject, Path] {
  const count = isList(document["trees"]) ? document["trees"].length : 0;
  const item = { id: freeId(document, "tree"), at: pointToFile(at, systemOf(document)) };
  return [withItem(document, "trees", item), ["trees", count]];
}

export function addSpot(document: JsonObject, at: SitePoint, height: number): [JsonObject, Path] {
  const system = systemOf(document);
  const count = isList(document["spot_heights"]) ? document["spot_heights"].length : 0;
  const item = { at: pointToFile(at, system), height: toFile(height, system) };
  return [withItem(document, "spot_heights", item), ["spot_heights", count]];
}

/** Add something that is in the ground already: a head, a valve place, or a pipe along a path. */
export function addExisting(
  document: JsonObject,
  kind: "heads" | "places" | "pipes",
  path: readonly SitePoint[],
): [JsonObject, Path] {
  const system = systemOf(document);
  const word = { heads: "old head", places: "old place", pipes: "old pipe" }[kind];
  const first = (of: Path, usual: string) => {
    const list = valueAt(document, of);
    return isList(list) && typeof list[0] === "string" ? list[0] : usual;
  };
  const own: JsonObject = {
    heads: { at: pointToFile(path[0]!, system), head_class: first(["heads", "allowed"], "spray") },
    places: { at: pointToFile(path[0]!, system) },
    pipes: {
      role: "lateral",
      material: first(["pipes", "laterals"], "PE"),
      size: "3/4 in",
      path: path.map((point) => pointToFile(point, system)),
    },
  }[kind];
  const existing = isObject(document["existing"]) ? document["existing"] : {};
  const before = isList(existing[kind]) ? existing[kind] : [];
  const item = { id: freeId(document, word), ...own };
  return [{ ...document, existing: { ...existing, [kind]: [...before, item] } }, ["existing", kind, before.length]];
}

export function remove(document: JsonObject, item: Path): JsonObject {
  return withValue(document, item, undefined) as JsonObject;
}

/** Lay an area one step higher (1) or lower (-1) among the others: a later one lies over an earlier one. */
export function restack(document: JsonObject, area: Path, step: 1 | -1): [JsonObject, Path] {
  const from = area[1];
  const list = document["areas"];
  if (!isList(list) || typeof from !== "number") return [document, area];
  const to = from + step;
  if (to < 0 || to >= list.length) return [document, area];
  const areas = [...list];
  [areas[from], areas[to]] = [areas[to]!, areas[from]!];
  return [{ ...document, areas }, ["areas", to]];
}

/** Add the pieces of a drawing: items go to the ends of their lists under free names, other facts only where none stand. */
export function addPieces(document: JsonObject, pieces: JsonObject): JsonObject {
  let made = document;
  for (const [key, value] of Object.entries(pieces)) {
    if (isList(value)) {
      for (const item of value) {
        const named = isObject(item) && typeof item["id"] === "string";
        made = withItem(made, key, named ? { ...item, id: freeId(made, item["id"] as string) } : item);
      }
    } else if (made[key] === undefined) made = { ...made, [key]: value };
  }
  return made;
}

export function samePath(one: Path | null, two: Path | null): boolean {
  return one !== null && two !== null && one.length === two.length && one.every((step, number) => step === two[number]);
}
