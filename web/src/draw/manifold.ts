/** A view of a manifold as shapes in pixels: pieces, levels, and dimensions beside them. */

import type { Schemas } from "../api/client.ts";

export type ManifoldView = Schemas["ViewDrawn"];

export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  readonly kind: string;
  readonly label: string;
}

export interface Word {
  readonly x: number;
  readonly y: number;
  readonly words: string;
  readonly anchor: "start" | "middle" | "end";
  readonly upright: boolean; // turned to read from the right
}

export interface ManifoldDrawn {
  readonly width: number;
  readonly height: number;
  readonly boxes: readonly Box[];
  readonly lines: readonly (readonly [number, number, number, number])[]; // of dimensions
  readonly levels: readonly (readonly [number, number, number, number])[];
  readonly words: readonly Word[];
}

export const TYPE = 11; // [px]
const LETTER = 0.58 * TYPE; // [px] of a letter, about
const ROW = 20; // [px] from a view to its first row of dimensions, and from row to row
const EDGE = 6; // [px]
const TALLEST = 380; // [px]

/** Draw a view as large as it fits a width. */
export function drawManifold(view: ManifoldView, width: number): ManifoldDrawn {
  const rows = (along: "u" | "v") => Math.max(0, ...view.dimensions.filter((d) => d.along === along).map((d) => d.row));
  const said = Math.max(0, ...view.levels.map((level) => level.words.length * LETTER + 8));
  const [left, right] = [EDGE + said, EDGE + ROW * rows("v") + (rows("v") ? 8 : 0)];
  const [wide, high] = [Math.max(view.high[0] - view.low[0], 1), Math.max(view.high[1] - view.low[1], 1)];
  const scale = Math.min((width - left - right) / wide, TALLEST / high);
  const foot = EDGE + high * scale;
  const x = (u: number) => left + (u - view.low[0]) * scale;
  const y = (v: number) => foot - (v - view.low[1]) * scale;
  const edge = left + wide * scale;

  const boxes = view.outlines.map((one) => ({
    x: x(one.low[0]),
    y: y(one.high[1]),
    width: (one.high[0] - one.low[0]) * scale,
    height: (one.high[1] - one.low[1]) * scale,
    kind: one.kind,
    label: one.label,
  }));
  const levels = view.levels.map((level) => [left - 4, y(level.at), edge + 4, y(level.at)] as const);
  const words: Word[] = view.levels.map((level) => ({
    x: left - 8,
    y: y(level.at) + 0.35 * TYPE,
    words: level.words,
    anchor: "end",
    upright: false,
  }));
  const lines: (readonly [number, number, number, number])[] = [];
  for (const one of view.dimensions) {
    if (one.along === "u") {
      const [from, to, base] = [x(one.begin), x(one.end), foot + ROW * one.row];
      lines.push([from, base, to, base], [from, foot + 3, from, base + 3], [to, foot + 3, to, base + 3]);
      words.push({ x: (from + to) / 2, y: base - 3, words: one.words, anchor: "middle", upright: false });
    } else {
      const [from, to, base] = [y(one.begin), y(one.end), edge + ROW * one.row];
      lines.push([base, from, base, to], [edge + 3, from, base + 3, from], [edge + 3, to, base + 3, to]);
      words.push({ x: base - 3, y: (from + to) / 2, words: one.words, anchor: "middle", upright: true });
    }
  }
  const height = foot + ROW * rows("u") + EDGE + 4;
  return { width, height, boxes, lines, levels, words: [...words, ...labels(boxes)] };
}

/** Names of valves first, then letters of pipes where they cover no name. */
function labels(boxes: readonly Box[]): Word[] {
  const found: Word[] = [];
  const named = boxes.filter((box) => box.label);
  for (const box of [...named.filter((one) => one.kind !== "pipe"), ...named.filter((one) => one.kind === "pipe")]) {
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2 + 0.35 * TYPE];
    const half = (box.label.length * LETTER) / 2 + 1;
    const covers = (one: Word) =>
      Math.abs(one.x - x) < half + (one.words.length * LETTER) / 2 && Math.abs(one.y - y) < TYPE;
    if (!found.some(covers)) found.push({ x, y, words: box.label, anchor: "middle", upright: false });
  }
  return found;
}
