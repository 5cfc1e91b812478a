/** Labels of a plan's drawing at one scale: heads, valve places, pipe sizes, names of the ground. */

import type { Piece } from "../geometry/areas.ts";
import type { SitePoint } from "../geometry/points.ts";
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
  readonly size: string;
  readonly path: readonly SitePoint[];
}

export interface Words {
  readonly places: readonly Label[];
  readonly heads: readonly Label[];
  readonly sizes: readonly Label[];
  readonly names: readonly Label[];
}

export const SIZE = 11; // [px] of the words
const LONG = 52; // [px] that a run must have to carry its size

/** Put all labels, the most needed first; what finds no room is left out, and comes when the view is larger. */
export function wordsAt(
  scale: number,
  heads: readonly Named[],
  places: readonly Named[],
  runs: readonly SizedRun[],
  names: readonly AreaName[],
): Words {
  const board = new LabelBoard();
  const on = ([x, y]: SitePoint) => [x * scale, -y * scale] as const;
  const square = (at: SitePoint, half: number): Box => {
    const [x, y] = on(at);
    return [x - half, y - half, x + half, y + half];
  };
  board.block(...heads.map((head) => square(head.at, HEAD_HALF)), ...places.map((one) => square(one.at, MARK_HALF)));
  const beside = (one: Named, half: number) => board.beside(one.text, ...on(one.at), half, SIZE);
  const found = (labels: (Label | null)[]) => labels.filter((label) => label !== null);
  return {
    places: found(places.map((one) => beside(one, MARK_HALF))),
    heads: found(heads.map((one) => beside(one, HEAD_HALF))),
    names: found(names.map((one) => nameLabel(board, one, scale))),
    sizes: found(runs.map((run) => sizeLabel(board, run, scale))),
  };
}

function nameLabel(board: LabelBoard, { text, at }: AreaName, scale: number): Label | null {
  for (const [x, y] of at.slice(0, 5)) {
    const put = board.put(text, x * scale, -y * scale, SIZE);
    if (put) return put;
  }
  return null;
}

function sizeLabel(board: LabelBoard, { size, path }: SizedRun, scale: number): Label | null {
  const line = path.map(([x, y]) => [x * scale, -y * scale] as const);
  const pieces = line.slice(1).map((to, i) => ({ from: line[i]!, to, long: apart(line[i]!, to) }));
  const total = pieces.reduce((sum, one) => sum + one.long, 0);
  if (total < Math.max(LONG, textWidth(size, SIZE) + 12)) return null;
  for (const share of [0.5, 0.35, 0.65, 0.2, 0.8]) {
    let rest = share * total;
    const piece = pieces.find((one) => (rest -= one.long) <= 0);
    if (!piece) continue;
    const along = piece.long > 0 ? 1 + rest / piece.long : 0;
    const at = [0, 1].map((i) => piece.from[i]! + along * (piece.to[i]! - piece.from[i]!)) as [number, number];
    const put = board.put(size, ...at, SIZE);
    if (put) return put;
  }
  return null;
}

/** Names of areas, with places well inside the largest piece of each, the roomiest first. */
export function areaNames(areas: ReadonlyMap<string, readonly Piece[]>): AreaName[] {
  return [...areas].flatMap(([text, pieces]) => {
    const largest = [...pieces].sort((a, b) => Math.abs(signedArea(b.outline)) - Math.abs(signedArea(a.outline)))[0];
    return largest ? [{ text, at: labelPoints(largest.outline, largest.holes) }] : [];
  });
}

function apart(a: readonly [number, number], b: readonly [number, number]): number {
  return Math.hypot(b[0] - a[0], b[1] - a[1]);
}
