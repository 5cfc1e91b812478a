/** Curved edges as short straight ones: an arc through three points, its chords within a stated distance of it. */

import { distance, type SitePoint } from "./points.ts";

export const CURVE_TOLERANCE = 0.02; // [m] that a chord may lie off the arc
const MOST_CHORDS = 90;
const STRAIGHT = 1e-6; // [m] the middle point this near to the line makes no arc

/**
 * Points along the arc from a by way of the middle point to b, a left out, b the last [m].
 * Three points in one line give that line. Chords of angle t on a radius r lie r (1 - cos t/2) off it at most.
 */
export function arcThrough(
  a: SitePoint,
  middle: SitePoint,
  b: SitePoint,
  tolerance: number = CURVE_TOLERANCE,
): SitePoint[] {
  const circle = circleThrough(a, middle, b);
  if (!circle) return distance(middle, a) + distance(middle, b) > distance(a, b) + STRAIGHT ? [middle, b] : [b];
  const { centre, radius } = circle;
  const at = ([x, y]: SitePoint) => Math.atan2(y - centre[1], x - centre[0]);
  const [from, by, to] = [at(a), onward(at(middle) - at(a)), onward(at(b) - at(a))];
  const sweep = by < to ? to : to - 2 * Math.PI;
  const widest = 2 * Math.acos(Math.max(-1, 1 - Math.min(tolerance / radius, 1)));
  const count = Math.min(MOST_CHORDS, Math.max(2, Math.ceil(Math.abs(sweep) / widest)));
  const points = Array.from({ length: count - 1 }, (_, k): SitePoint => {
    const turn = from + (sweep * (k + 1)) / count;
    return [centre[0] + radius * Math.cos(turn), centre[1] + radius * Math.sin(turn)];
  });
  return [...points, b];
}

function onward(angle: number): number {
  return ((angle % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI);
}

/** The circle through three points; null when they lie in one line. */
function circleThrough(a: SitePoint, b: SitePoint, c: SitePoint): { centre: SitePoint; radius: number } | null {
  const [bx, by, cx, cy] = [b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]];
  const twice = 2 * (bx * cy - by * cx);
  if (Math.abs(twice) < 2 * STRAIGHT * Math.max(distance(a, c), STRAIGHT)) return null;
  const [b2, c2] = [bx * bx + by * by, cx * cx + cy * cy];
  const x = (cy * b2 - by * c2) / twice;
  const y = (bx * c2 - cx * b2) / twice;
  return { centre: [a[0] + x, a[1] + y], radius: Math.hypot(x, y) };
}
