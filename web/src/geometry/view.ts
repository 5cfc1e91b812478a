/** How the plan lies on the screen: one scale for both axes, y up on the plan and down on the screen. */

import type { ScreenPoint, SitePoint } from "./points.ts";

export interface View {
  readonly scale: number; // [px/m]
  readonly x: number; // [px] of the plan's (0, 0)
  readonly y: number; // [px]
}

export interface Extent {
  readonly low: SitePoint;
  readonly high: SitePoint;
}

const LEAST_SCALE = 0.05;
const GREATEST_SCALE = 5000;

export function toScreen(view: View, [x, y]: SitePoint): ScreenPoint {
  return [view.x + x * view.scale, view.y - y * view.scale];
}

export function toSite(view: View, [x, y]: ScreenPoint): SitePoint {
  return [(x - view.x) / view.scale, (view.y - y) / view.scale];
}

export function pan(view: View, dx: number, dy: number): View {
  return { ...view, x: view.x + dx, y: view.y + dy };
}

/** Zoom by a factor so that what lies under one screen point stays there. */
export function zoom(view: View, factor: number, about: ScreenPoint): View {
  const scale = Math.min(GREATEST_SCALE, Math.max(LEAST_SCALE, view.scale * factor));
  const real = scale / view.scale;
  return { scale, x: about[0] + (view.x - about[0]) * real, y: about[1] + (view.y - about[1]) * real };
}

/** View that shows an extent in a drawing of so many pixels, with a margin round it. */
export function fit(extent: Extent, width: number, height: number, margin = 40): View {
  const [w, h] = [extent.high[0] - extent.low[0], extent.high[1] - extent.low[1]];
  const room = [Math.max(1, width - 2 * margin), Math.max(1, height - 2 * margin)] as const;
  const scale = Math.min(w > 0 ? room[0] / w : Infinity, h > 0 ? room[1] / h : Infinity);
  const kept = Number.isFinite(scale) ? Math.min(GREATEST_SCALE, Math.max(LEAST_SCALE, scale)) : 20;
  return {
    scale: kept,
    x: width / 2 - ((extent.low[0] + extent.high[0]) / 2) * kept,
    y: height / 2 + ((extent.low[1] + extent.high[1]) / 2) * kept,
  };
}

/** Smallest extent that holds all points; null when there are none. */
export function extentOf(points: Iterable<SitePoint>): Extent | null {
  let [lx, ly, hx, hy] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of points) {
    lx = Math.min(lx, x);
    ly = Math.min(ly, y);
    hx = Math.max(hx, x);
    hy = Math.max(hy, y);
  }
  return lx <= hx ? { low: [lx, ly], high: [hx, hy] } : null;
}

/** SVG transform that lays plan metres on the screen. */
export function transform(view: View): string {
  return `translate(${view.x} ${view.y}) scale(${view.scale} ${-view.scale})`;
}
