/** Where the pointer is drawn to: corners first, then edges, right angles and lines through known corners, the grid. */

import { bearing, distance, lineMeetsSegment, minus, nearestOnSegment, toward, type SitePoint } from "./points.ts";
import { edges, type Ring } from "./rings.ts";

export type SnapKind = "corner" | "edge" | "square" | "level" | "grid" | "free";

export interface Snap {
  readonly at: SitePoint;
  readonly kind: SnapKind;
  readonly guides: readonly (readonly [SitePoint, SitePoint])[]; // to be shown
}

export interface SnapGround {
  readonly rings: readonly Ring[]; // what there is to meet
  readonly points?: readonly SitePoint[]; // other places, such as spot heights
  readonly path?: readonly SitePoint[]; // drawn so far; the last is where the new edge begins
  readonly grid: number; // [m]; 0 for none
  readonly reach: number; // [m] of the pointer
}

export function snap(to: SitePoint, ground: SnapGround): Snap {
  return toCorner(to, ground) ?? toEdge(to, ground) ?? toLine(to, ground) ?? toGrid(to, ground);
}

function nearest(to: SitePoint, points: Iterable<SitePoint>, reach: number): SitePoint | null {
  let best: SitePoint | null = null;
  for (const point of points) {
    if (distance(to, point) <= (best ? distance(to, best) : reach)) best = point;
  }
  return best;
}

function toCorner(to: SitePoint, { rings, points = [], path = [], reach }: SnapGround): Snap | null {
  const at = nearest(to, [...rings.flat(), ...points, ...path], reach);
  return at && { at, kind: "corner", guides: [] };
}

function toEdge(to: SitePoint, ground: SnapGround): Snap | null {
  const all = ground.rings.flatMap((ring) => edges(ring));
  const at = nearest(
    to,
    all.map(([a, b]) => nearestOnSegment(to, a, b)),
    ground.reach,
  );
  if (!at) return null;
  const from = ground.path?.at(-1);
  if (!from) return { at, kind: "edge", guides: [] };
  // On an edge the foot of a square or level line is the better place, when it is near too.
  const feet = all.flatMap(([a, b]) =>
    directions(ground.path!)
      .map((turn) => lineMeetsSegment(from, turn, a, b))
      .filter((point) => point !== null),
  );
  const foot = nearest(to, feet, ground.reach);
  return foot ? { at: foot, kind: "square", guides: [[from, foot]] } : { at, kind: "edge", guides: [] };
}

/** Directions [°] worth keeping to from the end of a path: the plan's axes, and square to the last edge. */
function directions(path: readonly SitePoint[]): number[] {
  const [before, from] = [path.at(-2), path.at(-1)];
  const last = before && from ? bearing(before, from) : 0;
  return [0, 90, 45, 135, last, last + 90];
}

function toLine(to: SitePoint, { path = [], reach, grid }: SnapGround): Snap | null {
  const from = path.at(-1);
  if (!from) return null;
  const first = path.length > 2 ? path[0]! : null;
  for (const turn of directions(path)) {
    const foot = onLine(to, from, turn);
    if (distance(foot, to) > reach) continue;
    const kind: SnapKind = turn % 90 === 0 ? "level" : "square";
    // Both square to the last edge and level with the first corner: the fourth corner of a rectangle.
    for (const other of first ? [turn + 90, 0, 90] : []) {
      const meeting = first && meet(from, turn, first, other);
      if (meeting && distance(meeting, to) <= reach && distance(meeting, from) > 1e-6) {
        return {
          at: meeting,
          kind,
          guides: [
            [from, meeting],
            [first, meeting],
          ],
        };
      }
    }
    const length = distance(from, foot);
    const round = grid > 0 ? Math.round(length / grid) * grid : length;
    const at = Math.abs(round - length) <= reach ? toward(from, round, bearing(from, foot)) : foot;
    if (distance(at, from) > 1e-6) return { at, kind, guides: [[from, at]] };
  }
  return null;
}

function onLine(to: SitePoint, from: SitePoint, degrees: number): SitePoint {
  const [ux, uy] = toward([0, 0], 1, degrees);
  const [dx, dy] = minus(to, from);
  const along = dx * ux + dy * uy;
  return [from[0] + along * ux, from[1] + along * uy];
}

function meet(a: SitePoint, turnA: number, b: SitePoint, turnB: number): SitePoint | null {
  const [ux, uy] = toward([0, 0], 1, turnA);
  const [vx, vy] = toward([0, 0], 1, turnB);
  const cross = ux * vy - uy * vx;
  if (Math.abs(cross) < 1e-6) return null;
  const [dx, dy] = minus(b, a);
  const along = (dx * vy - dy * vx) / cross;
  return [a[0] + along * ux, a[1] + along * uy];
}

function toGrid(to: SitePoint, { grid, reach }: SnapGround): Snap {
  if (grid <= 0) return { at: to, kind: "free", guides: [] };
  const at: SitePoint = [Math.round(to[0] / grid) * grid, Math.round(to[1] / grid) * grid];
  return distance(at, to) <= Math.max(reach, grid * 0.75)
    ? { at, kind: "grid", guides: [] }
    : { at: to, kind: "free", guides: [] };
}
