/**
 * Pipes that share a trench, drawn side by side: each zone has a lane, and all its pipes are moved sideways together,
 * so that its joints stay joints; the ends at heads, valve places and the water entry go to the true point.
 */

import { plus, type SitePoint } from "../geometry/points.ts";

export interface PipeRun {
  readonly id: string;
  readonly zone?: string | null; // none for the main
  readonly start: string;
  readonly end: string;
  readonly path: readonly SitePoint[];
}

export interface TrenchRun {
  readonly path: readonly SitePoint[];
  readonly pipes: readonly string[];
}

const MAIN = "";
export const LANE = 4; // [px] from one lane to the next

/** Lane of each zone: 0, 1, -1, 2 and so on; zones in one trench differ, and the main, under "", has 0. */
export function lanesOf(
  zones: readonly string[],
  pipes: readonly PipeRun[],
  trenches: readonly TrenchRun[],
): Map<string, number> {
  const zoneOf = new Map(pipes.map((pipe) => [pipe.id, pipe.zone ?? MAIN]));
  const together = trenches.map((trench) => new Set(trench.pipes.map((id) => zoneOf.get(id) ?? MAIN)));
  const lanes = new Map([[MAIN, 0]]);
  for (const zone of zones) {
    const mates = together.filter((one) => one.has(zone)).flatMap((one) => [...one]);
    const met = new Set(mates.map((mate) => lanes.get(mate)));
    let turn = 0;
    while (met.has(outward(turn))) turn += 1;
    lanes.set(zone, outward(turn));
  }
  return lanes;
}

function outward(turn: number): number {
  return Math.ceil(turn / 2) * (turn % 2 ? 1 : -1) || 0;
}

const DIRECTIONS = 24;

/** Direction of the sideways shift: the one that best crosses the trenches that several pipes share. */
export function shiftDirection(trenches: readonly TrenchRun[]): SitePoint {
  const runs = trenches
    .filter((trench) => trench.pipes.length > 1)
    .flatMap(({ path }) =>
      path.slice(1).map(([x, y], i) => {
        const [px, py] = path[i]!;
        return { length: Math.hypot(x - px, y - py), along: Math.atan2(y - py, x - px) };
      }),
    );
  let [best, most] = [Math.PI / 4, -1];
  for (let turn = 0; turn < DIRECTIONS; turn += 1) {
    const angle = (Math.PI * turn) / DIRECTIONS;
    const apart = runs.reduce((sum, run) => sum + run.length * Math.min(0.7, Math.abs(Math.sin(angle - run.along))), 0);
    if (apart > most + 1e-6) [best, most] = [angle, apart];
  }
  return [Math.cos(best), Math.sin(best)];
}

/** Nodes that stay where they are: heads and valve places. */
export function fixedNodes(plan: {
  readonly heads: readonly { readonly id: string }[];
  readonly places: readonly { readonly id: string }[];
}): Set<string> {
  return new Set([...plan.heads, ...plan.places].map((one) => one.id));
}

/** Paths of pipes [m] with lanes so many metres apart; `fixed` are the nodes that stay. */
export function lanedPaths(
  pipes: readonly PipeRun[],
  lanes: ReadonlyMap<string, number>,
  across: SitePoint,
  apart: number,
  fixed: ReadonlySet<string>,
): Map<string, readonly SitePoint[]> {
  return new Map(
    pipes.map((pipe) => {
      const lane = (lanes.get(pipe.zone ?? MAIN) ?? 0) * apart;
      if (lane === 0) return [pipe.id, pipe.path];
      const moved = pipe.path.map((point) => plus(point, [lane * across[0], lane * across[1]]));
      if (fixed.has(pipe.start)) moved.unshift(pipe.path[0]!);
      if (fixed.has(pipe.end)) moved.push(pipe.path.at(-1)!);
      return [pipe.id, moved];
    }),
  );
}

/** Width of a pipe's line [px] by its bore [m]; the main is wider than a lateral of its size. */
export function pipeWidth(bore: number, role: string): number {
  return Math.max(1.2, 90 * bore - 0.2) + (role === "main" ? 1.4 : 0);
}
