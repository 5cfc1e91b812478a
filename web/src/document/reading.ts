/** What can be drawn of a yard document, perhaps a draft: every part by its path, in metres. What cannot be read is left out. */

import { fromFile, type System } from "../geometry/lengths.ts";
import type { SitePoint } from "../geometry/points.ts";
import type { Ring } from "../geometry/rings.ts";
import { isList, isObject, valueAt, type Json, type JsonObject, type Path } from "./json.ts";

export const AREA_KINDS = ["lawn", "bed", "building", "paving", "water", "keep-out", "roots"] as const;
export type AreaKind = (typeof AREA_KINDS)[number];

export interface AreaItem {
  readonly path: Path;
  readonly id: string;
  readonly kind: AreaKind;
  readonly outline: Ring;
  readonly holes: readonly Ring[];
}

export type PointKind = "tree" | "spot height" | "water entry" | "controller" | "old head" | "old valve place";

export interface PointItem {
  readonly path: Path;
  readonly id: string;
  readonly kind: PointKind;
  readonly at: SitePoint;
  readonly height: number | null; // [m] of a spot or the entry
  readonly radii: readonly [trunk: number, root: number] | null; // [m] of a tree
}

/** Something in the ground already. */
export interface ExistingItem {
  readonly path: Path;
  readonly id: string;
  readonly kind: "head" | "place" | "pipe";
  readonly points: readonly SitePoint[];
}

/** Heads and valve places in the ground, as points that can be set and moved. */
export function oldPoints(drawable: Drawable): PointItem[] {
  return drawable.existing.flatMap(({ path, id, kind, points }) =>
    kind === "pipe"
      ? []
      : [
          {
            path,
            id,
            kind: kind === "head" ? "old head" : "old valve place",
            at: points[0]!,
            height: null,
            radii: null,
          },
        ],
  );
}

export interface Drawable {
  readonly system: System;
  readonly areas: readonly AreaItem[];
  readonly points: readonly PointItem[];
  readonly existing: readonly ExistingItem[];
}

export function systemOf(document: JsonObject): System {
  return document["units"] === "metric" ? "metric" : "US";
}

export function readDrawable(document: JsonObject): Drawable {
  const system = systemOf(document);
  return {
    system,
    areas: areas(document, system),
    points: points(document, system),
    existing: existing(document, system),
  };
}

export function readPoint(value: Json | undefined, system: System): SitePoint | null {
  if (!isList(value) || value.length !== 2) return null;
  const [x, y] = [fromFile(value[0], system), fromFile(value[1], system)];
  return x === null || y === null ? null : [x, y];
}

export function readPoints(value: Json | undefined, system: System): SitePoint[] | null {
  if (!isList(value)) return null;
  const found = value.map((one) => readPoint(one, system));
  return found.every((one) => one !== null) ? found : null;
}

function text(value: Json | undefined): string {
  return typeof value === "string" ? value : "";
}

function items(document: JsonObject, path: Path): [Path, JsonObject][] {
  const list = valueAt(document, path);
  if (!isList(list)) return [];
  return list.flatMap((item, number): [Path, JsonObject][] => (isObject(item) ? [[[...path, number], item]] : []));
}

function areas(document: JsonObject, system: System): AreaItem[] {
  return items(document, ["areas"]).flatMap(([path, item]) => {
    const outline = readPoints(item["outline"], system);
    const kind = AREA_KINDS.find((known) => known === item["kind"]);
    if (!outline || outline.length === 0 || !kind) return [];
    const holes = isList(item["holes"]) ? item["holes"].flatMap((hole) => [readPoints(hole, system) ?? []]) : [];
    return [{ path, id: text(item["id"]), kind, outline, holes }];
  });
}

function points(document: JsonObject, system: System): PointItem[] {
  const found: PointItem[] = [];
  const add = (path: Path, item: Json | undefined, kind: PointKind, id: string) => {
    if (!isObject(item)) return;
    const at = readPoint(item["at"], system);
    if (!at) return;
    const size = (key: string, usual: number) => fromFile(item[key], system) ?? usual;
    const radii = kind === "tree" ? ([size("trunk_radius", 0.15), size("root_radius", 1.5)] as const) : null;
    found.push({ path, id, kind, at, height: fromFile(item["height"], system), radii });
  };
  for (const [path, item] of items(document, ["trees"])) add(path, item, "tree", text(item["id"]));
  for (const [path, item] of items(document, ["spot_heights"])) add(path, item, "spot height", "");
  add(["water_entry"], document["water_entry"], "water entry", "water entry");
  add(["controller"], document["controller"], "controller", "controller");
  return found;
}

function existing(document: JsonObject, system: System): ExistingItem[] {
  const one = (list: string, kind: ExistingItem["kind"]) =>
    items(document, ["existing", list]).flatMap(([path, item]) => {
      const at = kind === "pipe" ? readPoints(item["path"], system) : [readPoint(item["at"], system)];
      return at && at.every((point) => point !== null) ? [{ path, id: text(item["id"]), kind, points: at }] : [];
    });
  return [...one("pipes", "pipe"), ...one("places", "place"), ...one("heads", "head")];
}
