/** Closed outlines: what they measure and how they are edited. A ring does not repeat its first corner. */

import { distance, nearestOnSegment, plus, type SitePoint } from "./points.ts";

export type Ring = readonly SitePoint[];

/** Area [m²], positive when the corners run counter-clockwise. */
export function signedArea(ring: Ring): number {
  let twice = 0;
  for (const [a, b] of edges(ring)) twice += a[0] * b[1] - b[0] * a[1];
  return twice / 2;
}

export function perimeter(ring: Ring): number {
  return edges(ring).reduce((sum, [a, b]) => sum + distance(a, b), 0);
}

/** Edges in order; the last leads back to the first corner. */
export function edges(ring: Ring): [SitePoint, SitePoint][] {
  return ring.map((corner, number) => [corner, ring[(number + 1) % ring.length]!]);
}

export function contains(ring: Ring, [x, y]: SitePoint): boolean {
  let inside = false;
  for (const [a, b] of edges(ring)) {
    if (a[1] > y !== b[1] > y && x < a[0] + ((y - a[1]) / (b[1] - a[1])) * (b[0] - a[0])) inside = !inside;
  }
  return inside;
}

type Stretch = readonly [from: number, to: number];

/** Points inside a ring and outside what is cut out of it or lies over it, those with most room to the sides first. */
export function labelPoints(ring: Ring, covers: readonly Ring[] = []): SitePoint[] {
  const ys = ring.map((corner) => corner[1]);
  const [low, high] = [Math.min(...ys), Math.max(...ys)];
  const found = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9].flatMap((share, rank) => {
    const y = low + share * (high - low) + 1e-7;
    const free = covers.reduce<readonly Stretch[]>(
      (left, cover) => without(left, stretches(cover, y)),
      stretches(ring, y),
    );
    // A line nearer the middle is preferred to one that is a little longer.
    return free.map(([from, to]) => ({
      at: [(from + to) / 2, y] as SitePoint,
      worth: (to - from) * (1 - 0.04 * rank),
    }));
  });
  return found.sort((one, two) => two.worth - one.worth).map(({ at }) => at);
}

/** Where a level line runs inside a ring. */
function stretches(ring: Ring, y: number): Stretch[] {
  const xs = edges(ring)
    .filter(([a, b]) => a[1] > y !== b[1] > y)
    .map(([a, b]) => a[0] + ((y - a[1]) / (b[1] - a[1])) * (b[0] - a[0]))
    .sort((a, b) => a - b);
  return xs.flatMap((x, number): Stretch[] => (number % 2 === 0 ? [[x, xs[number + 1] ?? x]] : []));
}

function without(from: readonly Stretch[], cut: readonly Stretch[]): Stretch[] {
  return cut.reduce<Stretch[]>(
    (left, [a, b]) =>
      left.flatMap(([low, high]): Stretch[] =>
        b <= low || a >= high ? [[low, high]] : [[low, a] as const, [b, high] as const].filter(([x, y]) => y > x),
      ),
    [...from],
  );
}

export function moveCorner(ring: Ring, corner: number, to: SitePoint): Ring {
  return ring.map((point, number) => (number === corner ? to : point));
}

/** New corner on the edge that follows a corner. */
export function insertCorner(ring: Ring, after: number, at: SitePoint): Ring {
  return [...ring.slice(0, after + 1), at, ...ring.slice(after + 1)];
}

/** Ring without one corner; the ring itself when it would have fewer than three. */
export function removeCorner(ring: Ring, corner: number): Ring {
  return ring.length > 3 ? ring.filter((_, number) => number !== corner) : ring;
}

export function moveRing(ring: Ring, by: SitePoint): Ring {
  return ring.map((corner) => plus(corner, by));
}

/** Ring with the edge after a corner at another length: the corner stays, the next one moves along the edge. */
export function setEdgeLength(ring: Ring, corner: number, length: number): Ring {
  const [a, b] = [ring[corner]!, ring[(corner + 1) % ring.length]!];
  const now = distance(a, b);
  if (now === 0) return ring;
  const next: SitePoint = [a[0] + ((b[0] - a[0]) * length) / now, a[1] + ((b[1] - a[1]) * length) / now];
  return moveCorner(ring, (corner + 1) % ring.length, next);
}

export function nearestOnRing(ring: Ring, point: SitePoint): { at: SitePoint; edge: number; distance: number } | null {
  let best: { at: SitePoint; edge: number; distance: number } | null = null;
  edges(ring).forEach(([a, b], edge) => {
    const at = nearestOnSegment(point, a, b);
    const away = distance(at, point);
    if (best === null || away < best.distance) best = { at, edge, distance: away };
  });
  return best;
}

/** First two edges of a ring that cross, by number; null when none do. */
export function selfCrossing(ring: Ring): [number, number] | null {
  const all = edges(ring);
  for (let one = 0; one < all.length; one += 1) {
    for (let two = one + 2; two < all.length; two += 1) {
      if (one === 0 && two === all.length - 1) continue;
      if (cross(...all[one]!, ...all[two]!)) return [one, two];
    }
  }
  return null;
}

function side(a: SitePoint, b: SitePoint, p: SitePoint): number {
  return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
}

function cross(a: SitePoint, b: SitePoint, c: SitePoint, d: SitePoint): boolean {
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

/** Strip of a width [m] along a path of two points or more, mitred at the bends: room round a buried line. */
export function strip(path: readonly SitePoint[], width: number): Ring {
  const points = path.filter((point, number) => number === 0 || distance(point, path[number - 1]!) > 1e-9);
  if (points.length < 2) return [];
  const left: SitePoint[] = [];
  const right: SitePoint[] = [];
  points.forEach((point, number) => {
    const into = number > 0 ? unit(points[number - 1]!, point) : unit(point, points[1]!);
    const out = number < points.length - 1 ? unit(point, points[number + 1]!) : into;
    const normal: SitePoint = [-(into[1] + out[1]), into[0] + out[0]];
    const size = Math.hypot(...normal);
    // At a bend the strip's corner lies farther out by 1/cos of half the turn, but at most three half widths.
    const lean = size < 1e-9 ? [-into[1], into[0]] : [normal[0] / size, normal[1] / size];
    const reach = (width / 2) * Math.min(3, 1 / Math.max(1e-9, -into[1] * lean[0]! + into[0] * lean[1]!));
    left.push([point[0] + lean[0]! * reach, point[1] + lean[1]! * reach]);
    right.push([point[0] - lean[0]! * reach, point[1] - lean[1]! * reach]);
  });
  return [...left, ...right.reverse()];
}

function unit(a: SitePoint, b: SitePoint): SitePoint {
  const length = distance(a, b);
  return [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
}
