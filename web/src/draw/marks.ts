/** Marks of a drawing: one plain shape for each class of head, for valve places and the water entry, round (0, 0). */

import { distance, minus, plus, type SitePoint } from "../geometry/points.ts";

const HEADS: Record<string, string> = {
  spray: "M-4 0a4 4 0 1 0 8 0a4 4 0 1 0 -8 0Z",
  rotary: "M0 -5.2L4.7 3.4L-4.7 3.4Z",
  "small rotor": "M-3.9 -3.9H3.9V3.9H-3.9Z",
  "mid rotor": "M0 -5.4L5.4 0L0 5.4L-5.4 0Z",
  strip: "M-5.4 -2.5H5.4V2.5H-5.4Z",
};

/** Outline [px] of a head's mark by its class. */
export function headMark(headClass: string): string {
  return HEADS[headClass] ?? HEADS["spray"]!;
}

export const PLACE_MARK = "M-7 -7H7V7H-7ZM-7 -7L7 7";
export const ENTRY_MARK = "M-8 0a8 8 0 1 0 16 0a8 8 0 1 0 -16 0Z";
export const CONTROLLER_MARK = "M-7.5 -7.5H7.5V7.5H-7.5Z";
export const HEAD_HALF = 6; // [px] half the side of the square that a head's mark fills
export const MARK_HALF = 9; // [px] the same of the other marks

/** Where a mark is drawn that would lie on one of others: just off it, on the side where it stands. */
export function movedOff(at: SitePoint, others: readonly SitePoint[], scale: number): SitePoint {
  const room = (2 * MARK_HALF) / scale; // [m]
  const other = others.find((one) => distance(one, at) < room);
  if (!other) return at;
  const far = distance(other, at);
  const [x, y] = far > 0 ? minus(at, other) : [-1, 0];
  return plus(other, [(x * room) / (far || 1), (y * room) / (far || 1)]);
}
