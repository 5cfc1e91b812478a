/** Shapes of the ground: outlines as SVG paths in plan metres, labels and dimensions where they have room. */

import { bearing, distance, type ScreenPoint, type SitePoint } from "../geometry/points.ts";
import { edges, labelPoints, type Ring } from "../geometry/rings.ts";
import { toScreen, type View } from "../geometry/view.ts";

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

/** Where the name of an area may stand, best first; nowhere when it is too small on the screen for the words. */
export function nameLabels(name: string, outline: Ring, covers: readonly Ring[], view: View): Label[] {
  const xs = outline.map((corner) => corner[0] * view.scale);
  const ys = outline.map((corner) => corner[1] * view.scale);
  const [wide, high] = [Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys)];
  const need = name.length * LETTER;
  if (!name || Math.max(wide, high) < need || Math.min(wide, high) < 14) return [];
  const turn = wide < need ? -90 : 0;
  return labelPoints(outline, covers).map((at) => ({ at: toScreen(view, at), text: name, turn }));
}

const LETTER = 6.5; // [px] width of a letter of a label
const LINE = 14; // [px] height of a label

/** Of each thing's labels the first that lies over none of an earlier thing; each is centred where it lies. */
export function apart<T extends Label>(choices: readonly (readonly T[])[]): T[] {
  const boxes: (readonly [number, number, number, number])[] = [];
  return choices.flatMap((labels) => {
    for (const label of labels) {
      const [w, h] = [(label.text.length * LETTER) / 2, LINE / 2];
      const [dx, dy] = label.turn === 0 ? [w, h] : [h, w];
      const [x, y] = label.at;
      const box = [x - dx, y - dy, x + dx, y + dy] as const;
      if (boxes.some((one) => box[2] > one[0] && box[0] < one[2] && box[3] > one[1] && box[1] < one[3])) continue;
      boxes.push(box);
      return [label];
    }
    return [];
  });
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
