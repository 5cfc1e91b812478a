import { describe, expect, it } from "vitest";
import { arcThrough } from "./curves.ts";
import { distance, type SitePoint } from "./points.ts";

describe("an arc through three points", () => {
  it("runs over the middle point and stays within the tolerance", () => {
    const [a, middle, b] = [
      [5, 0],
      [0, 5],
      [-5, 0],
    ] as [SitePoint, SitePoint, SitePoint];
    const points = [a, ...arcThrough(a, middle, b, 0.02)];
    expect(points.at(-1)).toEqual(b);
    for (const point of points) expect(Math.hypot(...point)).toBeCloseTo(5, 9);
    expect(points.every(([, y]) => y > -1e-9)).toBe(true);
    const sags = points
      .slice(1)
      .map((to, i) => 5 - Math.hypot((to[0] + points[i]![0]) / 2, (to[1] + points[i]![1]) / 2));
    expect(Math.max(...sags)).toBeLessThanOrEqual(0.02 + 1e-9);
    const one = points.length;
    expect(arcThrough(a, middle, b, 0.08).length).toBeLessThan(one - 1);
    // Half a circle of 5 m with chords of 2 arccos(1 - 0.02 / 5): 10.3 degrees each, so 18 of them.
    expect(one - 1).toBe(18);
  });

  it("takes the way by the middle point, either way round and past half a circle", () => {
    const found = arcThrough([1, 0], [0, -1], [0, 1]);
    expect(found.some(([x, y]) => distance([x, y], [-1, 0]) < 0.1)).toBe(true);
    expect(found.some(([x, y]) => distance([x, y], [Math.SQRT1_2, Math.SQRT1_2]) < 0.1)).toBe(false);
  });

  it("is a straight line where the three lie in one", () => {
    expect(arcThrough([0, 0], [1, 0], [2, 0])).toEqual([[2, 0]]);
  });
});
