/** Shapes of the ground: outlines as SVG paths in plan metres, labels and dimensions where they have room. */

import { bearing, distance, type ScreenPoint, type SitePoint } from "../geometry/points.ts";
import { edges, labelPoints, type Ring } from "../geometry/rings.ts";
import { extentOf, toScreen, type Extent, type View } from "../geometry/view.ts";
import { SIZE, textWidth, type Label, type LabelBoard } from "./labels.ts";

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

/** Put the name of an area in the best place that is free; none when the area is too small for the words. */
export function putName(board: LabelBoard, { name, points, wide, high }: NamePlace, view: View): Label | null {
  const need = textWidth(name);
  const [w, h] = [wide * view.scale, high * view.scale];
  if (Math.max(w, h) < need || Math.min(w, h) < SIZE + 2) return null;
  const turn = w < need ? -90 : 0;
  for (const clear of [true, false]) {
    for (const at of points) {
      const put = board.put(name, toScreen(view, at), { turn, clear });
      if (put) return put;
    }
  }
  return null;
}

/** Small crosses at points, as one path. */
export function crosses(points: readonly SitePoint[], view: View, half = 4): string {
  return points
    .map((point) => toScreen(view, point))
    .map(([x, y]) => `M${x - half} ${y}h${2 * half}M${x} ${y - half}v${2 * half}`)
    .join("");
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
