/**
 * Where one stands, from taped distances to two known points.
 *
 * With D between the known points, x along the line from the first to the second and y to its left,
 * x = (D² + r² − s²) / 2D and y = ±√(r² − x²): two places, one on each side of the line. Each distance may be off by
 * an error; the band is every place whose distances lie within both errors, the image of that rectangle of distances.
 */

import { distance, minus, plus, type SitePoint } from "./points.ts";
import type { Ring } from "./rings.ts";

export interface Taped {
  readonly from: SitePoint;
  readonly length: number; // [m], level
  readonly error: number; // [m] by which it may be off, either way
}

export interface Fix {
  readonly at: SitePoint;
  readonly band: Ring;
  readonly reach: number; // [m] from the place to the farthest point of its band
}

export interface Located {
  readonly fixes: readonly Fix[]; // none when the distances cannot both be right; one when both sides run together
  readonly miss: number; // [m] by which the distances fail to meet, errors left aside; 0 when they meet
}

const STEPS = 16; // along each edge of the rectangle of distances

/** Places at both distances. Known points that are one and the same tell no place. */
export function locate(a: Taped, b: Taped): Located {
  const apart = distance(a.from, b.from);
  if (apart < 1e-6) return { fixes: [], miss: 0 };
  const miss = missing(a.length, b.length, apart);
  if (!meets(a, b, apart)) return { fixes: [], miss };
  if (miss > 0 || offset(a.length, b.length, apart)[1] < 1e-6) return { fixes: [joined(a, b, apart)], miss };
  return { fixes: [fix(a, b, apart, 1), fix(a, b, apart, -1)], miss };
}

/** How far the two circles are from meeting [m]. */
function missing(r: number, s: number, apart: number): number {
  return Math.max(0, apart - r - s, Math.abs(r - s) - apart);
}

function meets(a: Taped, b: Taped, apart: number): boolean {
  return missing(a.length, b.length, apart) <= a.error + b.error;
}

/** Place for two distances on the line's own axes; on the line when they miss each other. */
function offset(r: number, s: number, apart: number): [x: number, y: number] {
  const x = (apart * apart + r * r - s * s) / (2 * apart);
  return [x, Math.sqrt(Math.max(0, r * r - x * x))];
}

function place(a: Taped, b: Taped, apart: number, [x, y]: readonly [number, number]): SitePoint {
  const [dx, dy] = minus(b.from, a.from);
  return plus(a.from, [(x * dx - y * dy) / apart, (x * dy + y * dx) / apart]);
}

function fix(a: Taped, b: Taped, apart: number, side: 1 | -1): Fix {
  const [x, y] = offset(a.length, b.length, apart);
  return judged(place(a, b, apart, [x, side * y]), half(a, b, apart, side));
}

/** The circles touch, or miss each other by less than the errors: one place on the line, the band on both sides. */
function joined(a: Taped, b: Taped, apart: number): Fix {
  const at = place(a, b, apart, [offset(a.length, b.length, apart)[0], 0]);
  return judged(at, [...half(a, b, apart, 1), ...half(a, b, apart, -1).reverse()]);
}

function judged(at: SitePoint, band: Ring): Fix {
  return { at, band, reach: Math.max(...band.map((corner) => distance(at, corner))) };
}

/** Edge of the band on one side of the line. */
function half(a: Taped, b: Taped, apart: number, side: 1 | -1): SitePoint[] {
  const [low, high] = [Math.max(0, a.length - a.error), a.length + a.error];
  const [near, far] = [Math.max(0, b.length - b.error), b.length + b.error];
  const corners = [
    [low, near],
    [high, near],
    [high, far],
    [low, far],
  ] as const;
  return corners.flatMap(([r, s], number) => {
    const [toR, toS] = corners[(number + 1) % 4]!;
    return Array.from({ length: STEPS }, (_, step) => {
      const share = step / STEPS;
      const [x, y] = offset(r + (toR - r) * share, s + (toS - s) * share, apart);
      return place(a, b, apart, [x, side * y]);
    });
  });
}

/** Which known point lies where, seen from a place: the side of the line from a to b that it is on. */
export function sideOf(at: SitePoint, a: SitePoint, b: SitePoint): "left" | "right" | "on the line" {
  const cross = (b[0] - a[0]) * (at[1] - a[1]) - (b[1] - a[1]) * (at[0] - a[0]);
  if (Math.abs(cross) < 1e-6) return "on the line";
  return cross > 0 ? "left" : "right";
}
