import { describe, expect, it } from "vitest";
import { distance, type SitePoint } from "./points.ts";
import { contains } from "./rings.ts";
import { locate, sideOf } from "./trilaterate.ts";

const A: SitePoint = [1, 2];
const B: SitePoint = [6, 2];
const taped = (from: SitePoint, length: number, error = 0.1) => ({ from, length, error });

describe("locate", () => {
  it("finds the right angle of a 3-4-5 triangle on both sides (Pythagoras)", () => {
    const { fixes, miss } = locate(taped(A, 3), taped(B, 4));
    expect(miss).toBe(0);
    expect(fixes).toHaveLength(2);
    expect(fixes[0]!.at[0]).toBeCloseTo(1 + 9 / 5, 9);
    expect(fixes[0]!.at[1]).toBeCloseTo(2 + 12 / 5, 9);
    expect(fixes[1]!.at[1]).toBeCloseTo(2 - 12 / 5, 9);
    expect(sideOf(fixes[0]!.at, A, B)).toBe("left");
    expect(sideOf(fixes[1]!.at, A, B)).toBe("right");
  });

  it("keeps the distances when the known points lie askew", () => {
    const [a, b] = [taped([-3, 7], 6.5), taped([2, -4], 9.25)];
    for (const { at } of locate(a, b).fixes) {
      expect(distance(at, a.from)).toBeCloseTo(6.5, 9);
      expect(distance(at, b.from)).toBeCloseTo(9.25, 9);
    }
  });

  it("has in its band just the places within both errors, by trying every place of a grid", () => {
    const [a, b] = [taped(A, 3, 0.2), taped(B, 4, 0.3)];
    const [left] = locate(a, b).fixes;
    let inside = 0;
    for (let x = 1; x < 5; x += 0.02) {
      for (let y = 2.5; y < 7; y += 0.02) {
        const at: SitePoint = [x, y];
        const off = Math.max(
          Math.abs(distance(at, A) - a.length) / a.error,
          Math.abs(distance(at, B) - b.length) / b.error,
        );
        if (Math.abs(off - 1) < 0.02) continue; // on the edge, which is drawn with straight pieces
        expect(contains(left!.band, at)).toBe(off < 1);
        if (off < 1) {
          inside += 1;
          expect(distance(at, left!.at)).toBeLessThanOrEqual(left!.reach + 1e-3);
        }
      }
    }
    expect(inside).toBeGreaterThan(300);
  });

  it("widens without bound toward the line between the points", () => {
    const square = locate(taped(A, 3), taped(B, 4)).fixes[0]!;
    const flat = locate(taped(A, 2.52), taped(B, 2.52)).fixes[0]!;
    expect(flat.reach).toBeGreaterThan(3 * square.reach);
  });

  it("gives one place when the distances just miss each other, and none when they miss by more than their errors", () => {
    const near = locate(taped(A, 2.45), taped(B, 2.45));
    expect(near.miss).toBeCloseTo(0.1, 9);
    expect(near.fixes.map((one) => one.at)).toEqual([[3.5, 2]]);
    const far = locate(taped(A, 2), taped(B, 2));
    expect(far.fixes).toEqual([]);
    expect(far.miss).toBeCloseTo(1, 9);
    expect(locate(taped(A, 9), taped(B, 2)).miss).toBeCloseTo(2, 9); // one circle round the other
  });

  it("tells no place from one point twice", () => {
    expect(locate(taped(A, 3), taped(A, 3)).fixes).toEqual([]);
  });
});
