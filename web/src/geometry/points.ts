/**
 * Points and what can be said of two or three of them.
 *
 * A SitePoint is in metres on the plan, y up; a ScreenPoint is in pixels of the drawing, y down. The optional brand
 * keeps the two apart when compiled and costs nothing when run.
 */

export type SitePoint = readonly [x: number, y: number] & { readonly __space?: "site" };
export type ScreenPoint = readonly [x: number, y: number] & { readonly __space?: "screen" };

export function plus(a: SitePoint, b: SitePoint): SitePoint {
  return [a[0] + b[0], a[1] + b[1]];
}

export function minus(a: SitePoint, b: SitePoint): SitePoint {
  return [a[0] - b[0], a[1] - b[1]];
}

export function distance(a: SitePoint, b: SitePoint): number {
  return Math.hypot(b[0] - a[0], b[1] - a[1]);
}

/** Direction [°] from a to b, counter-clockwise from the x axis, 0 to below 360. */
export function bearing(a: SitePoint, b: SitePoint): number {
  const turn = (Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI;
  return (turn + 360) % 360;
}

/** Point at a length [m] and a direction [°] from another; the four main directions come out exact. */
export function toward(from: SitePoint, length: number, degrees: number): SitePoint {
  const turn = ((degrees % 360) + 360) % 360;
  const quarter = turn % 90 === 0 ? turn / 90 : -1;
  const cos = [1, 0, -1, 0][quarter] ?? Math.cos((turn * Math.PI) / 180);
  const sin = [0, 1, 0, -1][quarter] ?? Math.sin((turn * Math.PI) / 180);
  return [from[0] + length * cos, from[1] + length * sin];
}

/** Nearest point to p on the segment from a to b. */
export function nearestOnSegment(p: SitePoint, a: SitePoint, b: SitePoint): SitePoint {
  const [dx, dy] = minus(b, a);
  const square = dx * dx + dy * dy;
  if (square === 0) return a;
  const share = Math.min(1, Math.max(0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square));
  return [a[0] + share * dx, a[1] + share * dy];
}

/** Where the line through p with a direction [°] meets the segment from a to b; null when it does not. */
export function lineMeetsSegment(p: SitePoint, degrees: number, a: SitePoint, b: SitePoint): SitePoint | null {
  const [ux, uy] = toward([0, 0], 1, degrees);
  const [dx, dy] = minus(b, a);
  const cross = ux * dy - uy * dx;
  if (Math.abs(cross) < 1e-9) return null;
  const share = (uy * (a[0] - p[0]) - ux * (a[1] - p[1])) / cross;
  return share < 0 || share > 1 ? null : [a[0] + share * dx, a[1] + share * dy];
}
