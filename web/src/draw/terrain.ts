/** Contours as one path, and steepness as a picture whose shade grows with the slope. */

import type { Schemas } from "../api/client.ts";
import { linePath } from "./ground.ts";

type TerrainPicture = Schemas["TerrainPicture"];

export function contourPath(picture: TerrainPicture): string {
  return picture.contours.map((contour) => linePath(contour.path)).join("");
}

const FULL = 0.35; // [m/m] from which the shade is deepest
const DEEPEST = 110; // of 255

/** Pixels (RGBA) of the slope, first row highest on the plan, in a colour given as [red, green, blue]. */
export function slopePixels(
  slope: TerrainPicture["slope"],
  colour: readonly [number, number, number],
): Uint8ClampedArray<ArrayBuffer> {
  const counts = Uint8Array.from(atob(slope.counts), (letter) => letter.charCodeAt(0));
  const pixels = new Uint8ClampedArray(slope.nx * slope.ny * 4);
  for (let row = 0; row < slope.ny; row += 1) {
    for (let column = 0; column < slope.nx; column += 1) {
      const share = Math.min(1, (counts[row * slope.nx + column]! * slope.step) / FULL);
      pixels.set([...colour, share * DEEPEST], ((slope.ny - 1 - row) * slope.nx + column) * 4);
    }
  }
  return pixels;
}
