/** Labels of a plan's drawing at one scale: heads, valve places, pipe sizes, names of the ground. */

import type { Piece } from "../geometry/areas.ts";
import type { ScreenPoint, SitePoint } from "../geometry/points.ts";
import { labelPoints, signedArea } from "../geometry/rings.ts";
import { HEAD_HALF, MARK_HALF } from "./marks.ts";
import { LabelBoard, textWidth, type Box, type Label } from "./labels.ts";

export interface Named {
  readonly text: string;
  readonly at: SitePoint;
}

export interface AreaName {
  readonly text: string;
  readonly at: readonly SitePoint[]; // the best first
}

export interface SizedRun {
  readonly id: string;
  readonly zone?: string | null;
  readonly size: string;
  readonly path: readonly SitePoint[];
}

/** What stands on a drawing, and what is to be said of it. */
export interface Said {
  readonly heads: readonly Named[]; // the most needed first
  readonly places: readonly (Named & { readonly more: string })[]; // `more` is said where there is room
  readonly runs: readonly SizedRun[]; // pipes as they are drawn; their sizes are told
  readonly names: readonly AreaName[];
  readonly marks: readonly SitePoint[]; // others that nothing may cover
}

export interface Words {
  readonly places: readonly Label[];
  readonly heads: readonly Label[];
  readonly sizes: readonly Label[];
  readonly names: readonly Label[];
}

const LONG = 52; // [px] that a run must have to carry its size
const AGAIN = 240; // [px] after which a zone's pipes tell the same size again
const CROWDED = 30; // [px] from head to head under which labels that find no clear place are left out

/** Put all labels, the most needed first; what finds no room is left out, and comes when the view is larger. */
export function wordsAt(scale: number, said: Said): Words {
  const board = new LabelBoard();
  const on = ([x, y]: SitePoint): ScreenPoint => [x * scale, -y * scale];
  const square = (at: SitePoint, half: number): Box => {
    const [x, y] = on(at);
    return [x - half, y - half, x + half, y + half];
  };
  board.block(
    ...said.heads.map((head) => square(head.at, HEAD_HALF)),
    ...[...said.places.map((one) => one.at), ...said.marks].map((at) => square(at, MARK_HALF)),
  );
  for (const run of said.runs) board.avoid(run.path.map(on), run.id);
  const found = (labels: (Label | null)[]) => labels.filter((label) => label !== null);
  const clear = spacing(said.heads) * scale < CROWDED;
  return {
    places: found(
      said.places.map(({ text, more, at }) => {
        const beside = (words: string) => board.beside(words, on(at), MARK_HALF, { bold: true });
        return (clear ? null : beside(text + more)) ?? beside(text);
      }),
    ),
    heads: found(said.heads.map(({ text, at }) => board.beside(text, on(at), HEAD_HALF, { clear }))),
    names: found(said.names.map(({ text, at }) => nameLabel(board, text, at.slice(0, 5).map(on)))),
    sizes: sizeLabels(board, said.runs, on),
  };
}

/** How far the heads stand apart, about [m]: as if they stood evenly over the box they take. */
function spacing(heads: readonly Named[]): number {
  if (heads.length < 2) return Infinity;
  const side = (axis: 0 | 1) => {
    const [low, high] = heads.reduce(
      ([least, most], { at }) => [Math.min(least, at[axis]), Math.max(most, at[axis])],
      [Infinity, -Infinity],
    );
    return high - low;
  };
  return Math.sqrt((side(0) * side(1)) / heads.length);
}

function nameLabel(board: LabelBoard, text: string, places: readonly ScreenPoint[]): Label | null {
  for (const clear of [true, false]) {
    for (const at of places) {
      const put = board.put(text, at, { clear });
      if (put) return put;
    }
  }
  return null;
}

/** Sizes on the longest runs first, and again only far from where a zone's pipes told the same. */
function sizeLabels(board: LabelBoard, runs: readonly SizedRun[], on: (at: SitePoint) => ScreenPoint): Label[] {
  const told = new Map<string, ScreenPoint[]>();
  const lines = runs.map((run) => ({ ...run, line: run.path.map(on) }));
  const longest = lines.map((run) => ({ ...run, long: lengthOf(run.line) })).sort((a, b) => b.long - a.long);
  return longest.flatMap(({ id, zone, size, line, long }) => {
    if (long < Math.max(LONG, textWidth(size) + 12)) return [];
    const key = `${zone} ${size}`;
    const before = told.get(key) ?? [];
    for (const share of [0.5, 0.35, 0.65, 0.2, 0.8]) {
      const at = pointAlong(line, share * long);
      if (before.some((one) => apart(one, at) < AGAIN)) continue;
      const put = board.put(size, at, { clear: true, own: id });
      if (!put) continue;
      told.set(key, [...before, at]);
      return [put];
    }
    return [];
  });
}

function lengthOf(line: readonly ScreenPoint[]): number {
  return line.slice(1).reduce((sum, to, i) => sum + apart(line[i]!, to), 0);
}

function pointAlong(line: readonly ScreenPoint[], far: number): ScreenPoint {
  let rest = far;
  for (const [i, to] of line.slice(1).entries()) {
    const from = line[i]!;
    const long = apart(from, to);
    if (rest <= long && long > 0) {
      return [from[0] + (rest / long) * (to[0] - from[0]), from[1] + (rest / long) * (to[1] - from[1])];
    }
    rest -= long;
  }
  return line.at(-1)!;
}

/** Names of areas, with places well inside the largest piece of each, the roomiest first. */
export function areaNames(areas: ReadonlyMap<string, readonly Piece[]>): AreaName[] {
  return [...areas].flatMap(([text, pieces]) => {
    const largest = [...pieces].sort((a, b) => Math.abs(signedArea(b.outline)) - Math.abs(signedArea(a.outline)))[0];
    return largest ? [{ text, at: labelPoints(largest.outline, largest.holes) }] : [];
  });
}

function apart(a: ScreenPoint, b: ScreenPoint): number {
  return Math.hypot(b[0] - a[0], b[1] - a[1]);
}
