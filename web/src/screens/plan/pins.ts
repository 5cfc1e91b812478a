/** What a yard document holds fast: heads where they stand, heads that stay in one zone, pipes where they lie. */

import { isList, isObject, type Json, type JsonObject } from "../../document/json.ts";
import { FOOT, type System } from "../../geometry/lengths.ts";
import { distance, type SitePoint } from "../../geometry/points.ts";

const SAME = 0.05; // [m] a pin nearer than this holds the head

/** A head as a pin keeps it. */
export interface Held {
  readonly at: SitePoint;
  readonly head_class: string;
  readonly arc_start: number;
  readonly arc: number;
}

/** Document with a head pinned where it stands and as it throws. */
export function pinHead(document: JsonObject, head: Held, units: System): JsonObject {
  const [name, heads] = [freeName(document, "heads", "pin"), listOf(document, "heads")];
  const factor = units === "US" ? FOOT : 1;
  const at = head.at.map((value) => rounded(value / factor));
  const pin = { id: name, at, head_class: head.head_class, arc_start: rounded(head.arc_start), arc: rounded(head.arc) };
  return withPins(document, { heads: [...heads, pin] });
}

/** Document with heads pinned and kept together in one zone; those that are pinned already keep their pins. */
export function pinZone(document: JsonObject, heads: readonly Held[], units: System): JsonObject {
  let next = document;
  const names: string[] = [];
  for (const head of heads) {
    if (isPinned(next, head.at, units) === null) next = pinHead(next, head, units);
    names.push(isPinned(next, head.at, units)!);
  }
  const taken = new Set(names);
  const others = listOf(next, "zones").filter((zone) => !headsOf(zone).some((name) => taken.has(name)));
  const zone = { id: freeName(next, "zones", "zone"), heads: names };
  return withPins(next, { zones: [...others, zone] });
}

/** A pipe as a plan has it. */
export interface HeldPipe {
  readonly role: string;
  readonly path: readonly SitePoint[];
  readonly pin?: string | null | undefined;
}

/** The size that a pinned pipe is held at; none leaves it to the planner. */
export interface HeldSize {
  readonly size?: string;
  readonly least_size?: string;
}

/** Document with a pipe pinned where it lies; of a lateral, with those heads beyond it that are pinned too. */
export function pinPipe(
  document: JsonObject,
  pipe: HeldPipe,
  beyond: readonly { readonly at: SitePoint }[],
  units: System,
): JsonObject {
  const factor = units === "US" ? FOOT : 1;
  const path = pipe.path.map((point) => point.map((value) => rounded(value / factor)));
  const names = beyond.map((head) => isPinned(document, head.at, units)).filter((name) => name !== null);
  const pin: JsonObject = { id: freeName(document, "pipes", "pipe"), role: pipe.role, path };
  const own = pipe.role === "lateral" && names.length > 0 ? { ...pin, heads: names } : pin;
  return withPins(document, { pipes: [...listOf(document, "pipes"), own] });
}

/** Document with a pinned pipe held at a size. */
export function sizePipe(document: JsonObject, id: string, held: HeldSize): JsonObject {
  const pipes = listOf(document, "pipes").map((pin) => {
    if (!isObject(pin) || idOf(pin) !== id) return pin;
    const { size: _, least_size: __, ...rest } = pin;
    return { ...rest, ...held };
  });
  return withPins(document, { pipes });
}

/** Document without the pin of a pipe. */
export function unpinPipe(document: JsonObject, id: string): JsonObject {
  return withPins(document, { pipes: listOf(document, "pipes").filter((pin) => idOf(pin) !== id) });
}

/** The pin that holds a pipe of a plan, with its size; null when none does. */
export function pinOfPipe(
  document: JsonObject,
  pipe: HeldPipe,
  units: System,
): ({ readonly id: string } & HeldSize) | null {
  const factor = units === "US" ? FOOT : 1;
  for (const pin of listOf(document, "pipes")) {
    if (!isObject(pin) || pin["role"] !== pipe.role) continue;
    const path = isList(pin["path"]) ? pin["path"] : [];
    const same =
      path.length === pipe.path.length &&
      path.every((point, i) => {
        const [x, y] = isList(point) ? point.map((value) => Number(value) * factor) : [];
        return distance([x!, y!], pipe.path[i]!) <= SAME;
      });
    if (!same && idOf(pin) !== pipe.pin) continue;
    const [size, least] = [pin["size"], pin["least_size"]];
    return {
      id: idOf(pin),
      ...(typeof size === "string" ? { size } : {}),
      ...(typeof least === "string" ? { least_size: least } : {}),
    };
  }
  return null;
}

/** Document without some pinned heads; zones that would keep fewer than two heads together go too. */
export function unpin(document: JsonObject, ids: readonly string[]): JsonObject {
  const gone = new Set(ids);
  const heads = listOf(document, "heads").filter((pin) => !gone.has(idOf(pin)));
  const pipes = listOf(document, "pipes").map((pin) => {
    if (!isObject(pin) || !isList(pin["heads"])) return pin;
    const { heads: own, ...rest } = pin;
    const left = own.filter((name) => !gone.has(String(name)));
    return left.length > 0 ? { ...rest, heads: left } : rest;
  });
  const zones = listOf(document, "zones")
    .map((zone) => (isObject(zone) ? { ...zone, heads: headsOf(zone).filter((name) => !gone.has(name)) } : zone))
    .filter((zone) => headsOf(zone).length > 1);
  return withPins(document, { heads, zones, pipes });
}

/** The pin that holds a head at a place [m]; null when none does. */
export function isPinned(document: JsonObject, at: SitePoint, units: System): string | null {
  const factor = units === "US" ? FOOT : 1;
  for (const pin of listOf(document, "heads")) {
    const place = isObject(pin) && isList(pin["at"]) ? pin["at"].map(Number) : [];
    const [x, y] = [place[0]! * factor, place[1]! * factor];
    if (distance([x, y], at) <= SAME) return idOf(pin);
  }
  return null;
}

/** Document without any pin. */
export function unpinAll(document: JsonObject): JsonObject {
  return withPins(document, { heads: [], zones: [], pipes: [] });
}

/** How many heads and pipes are pinned. */
export function pinCount(document: JsonObject): { readonly heads: number; readonly pipes: number } {
  return { heads: listOf(document, "heads").length, pipes: listOf(document, "pipes").length };
}

export function pinIds(document: JsonObject): string[] {
  return listOf(document, "heads").map(idOf);
}

function withPins(document: JsonObject, change: { readonly [key: string]: Json }): JsonObject {
  const own = isObject(document["pins"]) ? document["pins"] : {};
  const next = Object.entries({ ...own, ...change }).filter(([, value]) => !isList(value) || value.length > 0);
  const { pins: _, ...rest } = document;
  return next.length > 0 ? { ...document, pins: Object.fromEntries(next) } : rest;
}

function listOf(document: JsonObject, key: string): readonly Json[] {
  const pins = document["pins"];
  const list = isObject(pins) ? pins[key] : undefined;
  return isList(list) ? list : [];
}

function idOf(item: Json): string {
  return isObject(item) && typeof item["id"] === "string" ? item["id"] : "";
}

function headsOf(zone: Json): string[] {
  return isObject(zone) && isList(zone["heads"]) ? zone["heads"].map(String) : [];
}

function freeName(document: JsonObject, key: string, word: string): string {
  const taken = new Set(listOf(document, key).map(idOf));
  let number = 1;
  while (taken.has(`${word} ${number}`)) number += 1;
  return `${word} ${number}`;
}

function rounded(value: number): number {
  return Math.round(value * 1000) / 1000;
}
