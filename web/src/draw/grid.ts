/** The grid behind a plan and the scale bar: round lengths in the yard's own units. */

import { FOOT, INCH, type System } from "../geometry/lengths.ts";
import type { View } from "../geometry/view.ts";
import { toSite } from "../geometry/view.ts";

const STEPS: Record<System, readonly number[]> = {
  US: [INCH, 6 * INCH, ...[1, 2, 5, 10, 20, 50, 100, 200, 500].map((feet) => feet * FOOT)],
  metric: [0.01, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200],
};

/** Smallest round length [m] that is at least so many pixels long. */
export function gridStep(scale: number, system: System, least = 24): number {
  const steps = STEPS[system];
  return steps.find((step) => step * scale >= least) ?? steps.at(-1)!;
}

/** Lines of the grid over a drawing of so many pixels, as one SVG path. */
export function gridLines(view: View, width: number, height: number, step: number): string {
  const [low, high] = [toSite(view, [0, height]), toSite(view, [width, 0])];
  let path = "";
  for (let n = Math.ceil(low[0] / step); n * step <= high[0]; n += 1) {
    path += `M${Math.round(view.x + n * step * view.scale) + 0.5} 0V${height}`;
  }
  for (let n = Math.ceil(low[1] / step); n * step <= high[1]; n += 1) {
    path += `M0 ${Math.round(view.y - n * step * view.scale) + 0.5}H${width}`;
  }
  return path;
}

/** The bar that tells how long things are: four parts of a round length, and that length in words. */
export function scaleBar(scale: number, system: System): { pixels: number; words: string } {
  const metres = gridStep(scale, system, 60);
  return { pixels: metres * scale, words: roundLength(metres, system) };
}

function roundLength(metres: number, system: System): string {
  const plain = (value: number) => String(Math.round(value * 100) / 100);
  if (system === "metric") return `${plain(metres)} m`;
  return metres < FOOT ? `${plain(metres / INCH)} in` : `${plain(metres / FOOT)} ft`;
}
