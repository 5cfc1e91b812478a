/** Places for words on a drawing such that none covers another or a mark: greedy, in the order they are asked for. */

import type { ScreenPoint } from "../geometry/points.ts";

export type Box = readonly [left: number, top: number, right: number, bottom: number];
type Segment = readonly [from: ScreenPoint, to: ScreenPoint];

export interface Label {
  readonly text: string;
  readonly at: ScreenPoint; // [px] middle of the words
  readonly turn: number; // [°] clockwise on the screen
}

export interface Manner {
  readonly size?: number; // [px]
  readonly bold?: boolean;
  readonly turn?: number; // [°] 0 or -90
  readonly clear?: boolean; // keeps off lines too
  readonly own?: string; // line that it may lie on
}

export const SIZE = 12; // [px] of words on a drawing
const GAP = 1; // [px] kept round words
const CELL = 64; // [px] side of the squares by which boxes and lines are looked up
const NEAR = [2, 6]; // [px]
const DRAWN: Box = [-10_000, -10_000, 20_000, 20_000]; // [px] no screen shows more of a line, however near or long
const DIRECTIONS: readonly (readonly [number, number])[] = [
  [1, 0],
  [-1, 0],
  [0, -1],
  [0, 1],
  [1, -1],
  [-1, -1],
  [1, 1],
  [-1, 1],
];

let pen: CanvasRenderingContext2D | null | undefined;
const widths = new Map<string, number>();

/** Width [px] that words take; about, where there is no page to measure on. */
export function textWidth(text: string, size = SIZE, bold = false): number {
  if (pen === undefined)
    pen = typeof document === "undefined" ? null : document.createElement("canvas").getContext("2d");
  if (!pen) return 0.58 * size * text.length;
  const key = `${size} ${bold} ${text}`;
  let width = widths.get(key);
  if (width === undefined) {
    const family = getComputedStyle(document.documentElement).getPropertyValue("--text");
    pen.font = `${bold ? 700 : 500} ${size}px ${family}`;
    width = pen.measureText(text).width;
    widths.set(key, width);
  }
  return width;
}

export class LabelBoard {
  private readonly boxes = new Map<string, Box[]>();
  private readonly lines = new Map<string, (readonly [Segment, string])[]>();

  /** Keep words off marks. */
  block(...boxes: readonly Box[]): void {
    for (const box of boxes) this.keep(box);
  }

  /** Keep words off a line, where that is asked; words may lie on the line that they name. */
  avoid(path: readonly ScreenPoint[], name = ""): void {
    path.slice(1).forEach((to, i) => {
      const segment = within([path[i]!, to], DRAWN);
      if (segment) for (const cell of along(segment)) added(this.lines, cell, [segment, name] as const);
    });
  }

  /** Put words beside a mark that reaches so far round a point: near and clear of lines, or else on one. */
  beside(text: string, [x, y]: ScreenPoint, reach: number, manner: Manner = {}): Label | null {
    const [wide, high] = [textWidth(text, manner.size, manner.bold), manner.size ?? SIZE];
    for (const clear of manner.clear ? [true] : [true, false]) {
      for (const far of NEAR) {
        for (const [dx, dy] of DIRECTIONS) {
          const at: ScreenPoint = [x + dx * (reach + far + wide / 2), y + dy * (reach + far + high / 2)];
          const put = this.put(text, at, { ...manner, clear });
          if (put) return put;
        }
      }
    }
    return null;
  }

  /** Put words with their middle at a point; null when that is taken. */
  put(text: string, at: ScreenPoint, manner: Manner = {}): Label | null {
    const turn = manner.turn ?? 0;
    const box = boxOf(textWidth(text, manner.size, manner.bold), manner.size ?? SIZE, at, turn);
    if (cellsOf(box).some((cell) => this.boxes.get(cell)?.some((other) => meet(box, other)))) return null;
    if (manner.clear && this.onLine(box, manner.own)) return null;
    this.keep(box);
    return { text, at, turn };
  }

  private onLine(box: Box, own: string | undefined): boolean {
    return cellsOf(box).some((cell) =>
      this.lines.get(cell)?.some(([segment, name]) => (own === undefined || name !== own) && within(segment, box)),
    );
  }

  private keep(box: Box): void {
    for (const cell of cellsOf(box)) added(this.boxes, cell, box);
  }
}

function added<T>(cells: Map<string, T[]>, cell: string, one: T): void {
  const own = cells.get(cell);
  if (own) own.push(one);
  else cells.set(cell, [one]);
}

function boxOf(wide: number, high: number, [x, y]: ScreenPoint, turn: number): Box {
  const [dx, dy] = turn % 180 === 0 ? [wide / 2, high / 2] : [high / 2, wide / 2];
  return [x - dx - GAP, y - dy - GAP, x + dx + GAP, y + dy + GAP];
}

function meet(a: Box, b: Box): boolean {
  return a[0] < b[2] && a[2] > b[0] && a[1] < b[3] && a[3] > b[1];
}

function cellsOf([left, top, right, bottom]: Box): string[] {
  const cells: string[] = [];
  for (let x = Math.floor(left / CELL); x * CELL <= right; x += 1) {
    for (let y = Math.floor(top / CELL); y * CELL <= bottom; y += 1) cells.push(`${x},${y}`);
  }
  return cells;
}

/** Cells that a line passes, with some beside it. */
function along([[ax, ay], [bx, by]]: Segment): Set<string> {
  const steps = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay) / CELL));
  const found = new Set<string>();
  for (let i = 0; i < steps; i += 1) {
    const at = (step: number) => [ax + (step / steps) * (bx - ax), ay + (step / steps) * (by - ay)] as const;
    const [[x0, y0], [x1, y1]] = [at(i), at(i + 1)];
    const box: Box = [Math.min(x0, x1), Math.min(y0, y1), Math.max(x0, x1), Math.max(y0, y1)];
    for (const cell of cellsOf(box)) found.add(cell);
  }
  return found;
}

/** What of a line lies in a box: within both pairs of its sides; null where that is nothing (Liang and Barsky). */
function within([[ax, ay], [bx, by]]: Segment, [left, top, right, bottom]: Box): Segment | null {
  let [from, to] = [0, 1];
  for (const [start, run, low, high] of [
    [ax, bx - ax, left, right],
    [ay, by - ay, top, bottom],
  ] as const) {
    if (run === 0) {
      if (start < low || start > high) return null;
      continue;
    }
    const [one, two] = [(low - start) / run, (high - start) / run];
    from = Math.max(from, Math.min(one, two));
    to = Math.min(to, Math.max(one, two));
  }
  const at = (part: number): ScreenPoint => [ax + part * (bx - ax), ay + part * (by - ay)];
  return from <= to ? [at(from), at(to)] : null;
}
