/** Places for words on a drawing such that none covers another or a mark: greedy, in the order they are asked for. */

export type Box = readonly [left: number, top: number, right: number, bottom: number];

export interface Label {
  readonly text: string;
  readonly x: number; // [px] left end of the words
  readonly y: number; // [px] their base line
}

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

/** Width [px] that words take, about: a page without a drawing context can only estimate it. */
export function textWidth(text: string, size: number): number {
  return 0.58 * size * text.length;
}

export class LabelBoard {
  private readonly taken: Box[] = [];

  block(...boxes: readonly Box[]): void {
    this.taken.push(...boxes);
  }

  /** Put words beside a mark that reaches so far round (x, y); null when all places near it are taken. */
  beside(text: string, x: number, y: number, reach: number, size: number): Label | null {
    const [wide, high] = [textWidth(text, size), size];
    for (const far of [2, 8, 15]) {
      for (const [dx, dy] of DIRECTIONS) {
        const cx = x + dx * (reach + far + wide / 2);
        const cy = y + dy * (reach + far + high / 2);
        const put = this.put(text, cx, cy, size);
        if (put) return put;
      }
    }
    return null;
  }

  /** Put words with their middle at (x, y); null when that is taken. */
  put(text: string, x: number, y: number, size: number): Label | null {
    const [wide, high] = [textWidth(text, size), size];
    const box: Box = [x - wide / 2, y - high / 2, x + wide / 2, y + high / 2];
    if (this.taken.some((other) => meet(box, other))) return null;
    this.taken.push(box);
    return { text, x: box[0], y: y + 0.36 * size };
  }
}

function meet(a: Box, b: Box): boolean {
  return a[0] < b[2] && a[2] > b[0] && a[1] < b[3] && a[3] > b[1];
}
