/** Colours of a depth of water, from straw over grass to pond, for light pages and dark: the program's own table. */

import table from "../../../src/rillwright/data/water_colours.csv?raw";

export type Rgb = readonly [number, number, number];

interface Row {
  readonly depth: number;
  readonly light: Rgb;
  readonly dark: Rgb;
}

const ROWS: readonly Row[] = table
  .trim()
  .split(/\r?\n/)
  .slice(1)
  .map((line) => line.split(","))
  .map(([depth, light, dark]) => ({ depth: Number(depth), light: rgb(light!), dark: rgb(dark!) }));

export const DRIEST = ROWS[0]!.depth; // of the mean, at the light end of the scale
export const WETTEST = ROWS.at(-1)!.depth; // of the mean, at the dark end

/** Colour of a depth relative to the lawn's mean; beyond an end of the scale, the colour of that end. */
export function waterColour(relative: number, night = false): Rgb {
  const share = (Math.min(WETTEST, Math.max(DRIEST, relative)) - DRIEST) / (WETTEST - DRIEST);
  const along = share * (ROWS.length - 1);
  const low = Math.min(ROWS.length - 2, Math.floor(along));
  const [from, to] = [low, low + 1].map((row) => ROWS[row]![night ? "dark" : "light"]) as [Rgb, Rgb];
  return [0, 1, 2].map((i) => Math.round(from[i]! + (along - low) * (to[i]! - from[i]!))) as unknown as Rgb;
}

function rgb(hex: string): Rgb {
  return [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16)) as unknown as Rgb;
}
