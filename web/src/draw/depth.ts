/** The depth of water on a lawn as a picture: one pixel for each cell of its grid, against the lawn's mean. */

import { waterColour } from "./waterColours.ts";

/** Relative depth as the program sends it: rows go up the plan from (x0, y0). */
export interface DepthGrid {
  readonly lawn: string;
  readonly x0: number; // [m]
  readonly y0: number; // [m]
  readonly cell: number; // [m] side
  readonly nx: number;
  readonly ny: number;
  readonly step: number; // of the mean for one count
  readonly counts: string; // base64
}

/** Pixels, four bytes each, the first row the highest on the plan: what an ImageData takes. */
export interface Picture {
  readonly width: number;
  readonly height: number;
  readonly data: Uint8ClampedArray<ArrayBuffer>;
}

export function countsOf(grid: DepthGrid): Uint8Array {
  const text = atob(grid.counts);
  return Uint8Array.from({ length: text.length }, (_, i) => text.charCodeAt(i));
}

const tables = new Map<string, Uint8ClampedArray>();

/** Colours of all 256 counts, worked out once for each step and theme. */
function tableOf(step: number, night: boolean): Uint8ClampedArray {
  const key = `${step} ${night}`;
  let table = tables.get(key);
  if (!table) {
    table = new Uint8ClampedArray(4 * 256);
    for (let count = 0; count < 256; count += 1) table.set([...waterColour(count * step, night), 255], 4 * count);
    tables.set(key, table);
  }
  return table;
}

/** The grid as a picture, for a light page or a dark one. */
export function pictureOf(grid: DepthGrid, night = false): Picture {
  const { nx, ny } = grid;
  const [counts, table] = [countsOf(grid), tableOf(grid.step, night)];
  const data = new Uint8ClampedArray(4 * nx * ny);
  for (let row = 0; row < ny; row += 1) {
    const from = (ny - 1 - row) * nx;
    for (let column = 0; column < nx; column += 1) {
      const colour = 4 * counts[from + column]!;
      const to = 4 * (row * nx + column);
      data[to] = table[colour]!;
      data[to + 1] = table[colour + 1]!;
      data[to + 2] = table[colour + 2]!;
      data[to + 3] = 255;
    }
  }
  return { width: nx, height: ny, data };
}

/** Depth relative to the mean at a place; null off the grid. */
export function depthAt(grid: DepthGrid, counts: Uint8Array, x: number, y: number): number | null {
  const [column, row] = [Math.floor((x - grid.x0) / grid.cell), Math.floor((y - grid.y0) / grid.cell)];
  if (column < 0 || row < 0 || column >= grid.nx || row >= grid.ny) return null;
  return counts[row * grid.nx + column]! * grid.step;
}
