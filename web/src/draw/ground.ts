/** Shapes of the ground: outlines as SVG paths in plan metres, labels and dimensions where they have room. */

import { bearing, distance, type ScreenPoint, type SitePoint } from "../geometry/points.ts";
import { edges, labelPoints, type Ring } from "../geometry/rings.ts";
import { extentOf, toScreen, type Extent, type View } from "../geometry/view.ts";

function round(value: number): number {
  return Math.round(value * 1e4) / 1e4;
}

/** Closed outlines as one path; with the even-odd rule, holes stay open. */
export function ringPath(rings: readonly Ring[]): string {
  return rings
    .filter((ring) => ring.length > 1)
    .map((ring) => `M${ring.map(([x, y]) => `${round(x)} ${round(y)}`).join("L")}Z`)
    .join("");
}

export function linePath(points: readonly SitePoint[]): string {
  return points.length > 1 ? `M${points.map(([x, y]) => `${round(x)} ${round(y)}`).join("L")}` : "";
}

export interface Label {
  readonly at: ScreenPoint;
  readonly text: string;
  readonly turn: number; // [°] clockwise on the screen
}

/** Where an area's name may stand on the plan, best first, and how far the area reaches [m]. */
export interface NamePlace {
  readonly name: string;
  readonly points: readonly SitePoint[];
  readonly wide: number;
  readonly high: number;
}

/** Where the names of areas may stand; a later area lies over an earlier one. */
export function namePlaces(
  areas: readonly { readonly id: string; readonly outline: Ring; readonly holes: readonly Ring[] }[],
): NamePlace[] {
  const extents = areas.map((area) => extentOf(area.outline));
  return areas.flatMap((area, number) => {
    const own = extents[number];
    if (!own || !area.id) return [];
    const above = areas
      .filter((_, other) => other > number && extents[other] && meet(own, extents[other]))
      .map((one) => one.outline);
    const points = labelPoints(area.outline, [...area.holes, ...above]);
    return [{ name: area.id, points, wide: own.high[0] - own.low[0], high: own.high[1] - own.low[1] }];
  });
}

function meet(one: Extent, two: Extent): boolean {
  return [0, 1].every((axis) => one.low[axis]! < two.high[axis]! && one.high[axis]! > two.low[axis]!);
}

/** Labels for a name, best first; none when the area is too small on the screen for the words. */
export function nameLabels({ name, points, wide, high }: NamePlace, view: View): Label[] {
  const need = name.length * LETTER;
  const [w, h] = [wide * view.scale, high * view.scale];
  if (Math.max(w, h) < need || Math.min(w, h) < 14) return [];
  return points.map((at) => ({ at: toScreen(view, at), text: name, turn: w < need ? -90 : 0 }));
}

/** Small crosses at points, as one path. */
export function crosses(points: readonly SitePoint[], view: View, half = 4): string {
  return points
    .map((point) => toScreen(view, point))
    .map(([x, y]) => `M${x - half} ${y}h${2 * half}M${x} ${y - half}v${2 * half}`)
    .join("");
}

const LETTER = 6.5; // [px] width of a letter of a label
const LINE = 14; // [px] height of a label

type Box = readonly [left: number, top: number, right: number, bottom: number];

/** Of each thing's labels the first that lies over none of an earlier thing; each is centred where it lies. */
export function apart<T extends Label>(choices: readonly (readonly T[])[]): T[] {
  const taken = new Map<string, Box[]>();
  return choices.flatMap((labels) => {
    for (const label of labels) {
      const box = boxOf(label);
      const cells = cellsOf(box);
      if (cells.some((cell) => taken.get(cell)?.some((one) => overlap(box, one)))) continue;
      for (const cell of cells) taken.set(cell, [...(taken.get(cell) ?? []), box]);
      return [label];
    }
    return [];
  });
}

function boxOf({ at: [x, y], text, turn }: Label): Box {
  const [w, h] = [(text.length * LETTER) / 2, LINE / 2];
  const [dx, dy] = turn === 0 ? [w, h] : [h, w];
  return [x - dx, y - dy, x + dx, y + dy];
}

function overlap(one: Box, two: Box): boolean {
  return one[2] > two[0] && one[0] < two[2] && one[3] > two[1] && one[1] < two[3];
}

const CELL = 96; // [px]

function cellsOf([left, top, right, bottom]: Box): string[] {
  const cells: string[] = [];
  for (let x = Math.floor(left / CELL); x * CELL <= right; x += 1) {
    for (let y = Math.floor(top / CELL); y * CELL <= bottom; y += 1) cells.push(`${x},${y}`);
  }
  return cells;
}

/** Lengths of a ring's or a path's edges, each outside its edge and readable from below. */
export function dimensionLabels(
  points: readonly SitePoint[],
  view: View,
  show: (metres: number) => string,
  { closed = true, least = 34 }: { closed?: boolean; least?: number } = {},
): Label[] {
  const all = edges(points).slice(0, closed ? undefined : -1);
  const outward = turnsLeft(points) ? 1 : -1;
  return all.flatMap(([a, b]) => {
    const length = distance(a, b);
    if (length * view.scale < least) return [];
    const [ax, ay] = toScreen(view, a);
    const [bx, by] = toScreen(view, b);
    const lean = (-bearing(a, b) * Math.PI) / 180;
    const off: ScreenPoint = [-Math.sin(lean) * 11 * outward, Math.cos(lean) * 11 * outward];
    const turn = -bearing(a, b);
    const upright = turn < -90 && turn >= -270 ? turn + 180 : turn;
    return [{ at: [(ax + bx) / 2 + off[0], (ay + by) / 2 + off[1]] as ScreenPoint, text: show(length), turn: upright }];
  });
}

function turnsLeft(points: readonly SitePoint[]): boolean {
  return edges(points).reduce((sum, [a, b]) => sum + a[0] * b[1] - b[0] * a[1], 0) > 0;
}
