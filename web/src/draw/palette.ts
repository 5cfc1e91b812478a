/**
 * Colours that carry meaning on a drawing: zones by Okabe and Ito's set, told apart by dashes too; water by viridis
 * (S. van der Walt and N. Smith, 2015, public domain), whose lightness falls evenly, seen with any colour vision.
 */

const ZONES = 8;
const DASHES = ["", "9 3", "4 3", "12 3 3 3", "18 4", "9 3 3 3 3 3", "2 3", "6 6"];

/** CSS colour of the zone at an index from 0; light and dark pages define the names. */
export function zoneColour(index: number): string {
  return index < 0 ? "var(--soft)" : `var(--zone-${index % ZONES})`;
}

/** Dash pattern [px] of the zone at an index: no colour and dash come twice together. */
export function zoneDash(index: number): string {
  return index < 0 ? "" : DASHES[(index + Math.floor(index / ZONES)) % DASHES.length]!;
}

type Rgb = readonly [number, number, number];

// viridis at 17 even steps, from its dark to its light end
const VIRIDIS: readonly Rgb[] = [
  [68, 1, 84],
  [72, 24, 106],
  [71, 45, 123],
  [66, 64, 134],
  [59, 82, 139],
  [51, 99, 141],
  [44, 114, 142],
  [38, 130, 142],
  [33, 145, 140],
  [31, 160, 136],
  [40, 174, 128],
  [63, 188, 115],
  [94, 201, 98],
  [132, 212, 75],
  [173, 220, 48],
  [216, 226, 25],
  [253, 231, 37],
];

/** Colour of a share from 0, dry and light, to 1, wet and dark. */
export function waterColour(share: number): Rgb {
  const along = (1 - Math.min(1, Math.max(0, share))) * (VIRIDIS.length - 1);
  const low = Math.min(VIRIDIS.length - 2, Math.floor(along));
  const part = along - low;
  const [from, to] = [VIRIDIS[low]!, VIRIDIS[low + 1]!];
  return [0, 1, 2].map((i) => Math.round(from[i]! + part * (to[i]! - from[i]!))) as unknown as Rgb;
}
