/** Colours of zones on a drawing: Okabe and Ito's set, told apart by dashes too. */

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
