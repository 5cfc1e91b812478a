/** The tape: the next corner from a typed length and direction, or from where the pointer is. */

import { readLength, type System } from "./lengths.ts";
import { bearing, distance, toward, type SitePoint } from "./points.ts";

/**
 * Direction [°] as typed: counter-clockwise from the x axis, so 90 is up the plan; or a turn from the last edge,
 * such as `l90` or `r 45` for left and right. Null when it is none.
 */
export function readDirection(text: string, last: number): number | null {
  const found = /^\s*([lr]?)\s*(-?\d+(?:[.,]\d+)?)\s*°?\s*$/i.exec(text);
  if (!found) return null;
  const size = Number(found[2]!.replace(",", "."));
  const side = found[1]!.toLowerCase();
  const turn = side === "l" ? last + size : side === "r" ? last - size : size;
  return ((turn % 360) + 360) % 360;
}

/** Direction of the last edge of a path; 0 where there is none yet. */
export function lastDirection(path: readonly SitePoint[]): number {
  const [before, from] = [path.at(-2), path.at(-1)];
  return before && from ? bearing(before, from) : 0;
}

export const FARTHEST = 20_000; // [m] that a place may lie from the zero of a plan, along x or y

/**
 * Where the next corner of a path comes: what is typed holds, what is not comes from the pointer. Without a corner yet,
 * the two texts are x and y. Null when a text cannot be read, nothing says where, or that is off any plan.
 */
export function aim(
  path: readonly SitePoint[],
  typed: readonly [string, string],
  pointer: SitePoint | null,
  system: System,
): SitePoint | null {
  const at = onward(path, typed, pointer, system);
  return at && Math.max(Math.abs(at[0]), Math.abs(at[1])) <= FARTHEST ? at : null;
}

function onward(
  path: readonly SitePoint[],
  typed: readonly [string, string],
  pointer: SitePoint | null,
  system: System,
): SitePoint | null {
  const from = path.at(-1);
  if (!from) return start(typed, pointer, system);
  const [lengthText, directionText] = withTurn(typed, system);
  if (!lengthText && !directionText) return pointer;
  const length = lengthText ? readLength(lengthText, system) : pointer && distance(from, pointer);
  const direction = directionText
    ? readDirection(directionText, lastDirection(path))
    : pointer && bearing(from, pointer);
  if (length === null || direction === null || length <= 0) return null;
  return toward(from, length, direction);
}

/** What is typed, trimmed; a turn may stand behind the length: `12.5 l` is 12.5 and left at a right angle, `20 r45` too. */
function withTurn(typed: readonly [string, string], system: System): readonly [string, string] {
  const [length, direction] = typed.map((text) => text.trim()) as [string, string];
  const found = direction ? null : /^(.+?)\s*([lr])\s*(\d+(?:[.,]\d+)?)?\s*°?$/i.exec(length);
  if (!found || readLength(found[1]!, system) === null) return [length, direction];
  return [found[1]!, `${found[2]}${found[3] ?? 90}`];
}

function start(typed: readonly [string, string], pointer: SitePoint | null, system: System): SitePoint | null {
  if (!typed[0].trim() && !typed[1].trim()) return pointer;
  const [x, y] = [readLength(typed[0], system), readLength(typed[1], system)];
  return x === null || y === null ? null : [x, y];
}

/** How a picture lies on the plan: its lower left corner, the size of a pixel [m], its turn [°] about that corner. */
export interface Lay {
  readonly at: SitePoint;
  readonly metresPerPixel: number;
  readonly turn: number;
}

/**
 * Lay a picture so that two of its points lie a true length [m] apart; also in a direction [°], and with the first
 * point at a place, where these are given. Null when the points are one, or the length is none.
 */
export function layByTwoPoints(
  lay: Lay,
  first: SitePoint,
  second: SitePoint,
  { length, direction, to = first }: { length: number; direction?: number; to?: SitePoint },
): Lay | null {
  const shown = distance(first, second);
  if (shown === 0 || !(length > 0)) return null;
  const factor = length / shown;
  const by = direction === undefined ? 0 : direction - bearing(first, second);
  const reach = distance(first, lay.at) * factor;
  return {
    at: reach === 0 ? to : toward(to, reach, bearing(first, lay.at) + by),
    metresPerPixel: lay.metresPerPixel * factor,
    turn: ((((lay.turn + by) % 360) + 540) % 360) - 180,
  };
}
