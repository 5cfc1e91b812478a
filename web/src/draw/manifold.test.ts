import { expect, test } from "vitest";
import { drawManifold, type ManifoldView } from "./manifold.ts";

const VIEW: ManifoldView = {
  name: "from above",
  low: [0, 0],
  high: [200, 100],
  outlines: [
    { kind: "valve", label: "Z1", low: [80, 40], high: [120, 90] },
    { kind: "pipe", label: "A", low: [95, 60], high: [105, 70] },
    { kind: "pipe", label: "B", low: [10, 0], high: [60, 10] },
  ],
  dimensions: [
    { along: "u", begin: 0, end: 200, row: 1, words: "200 mm" },
    { along: "v", begin: 0, end: 100, row: 2, words: "100 mm" },
  ],
  levels: [],
};

test("a view fills its width and keeps its shape", () => {
  const drawn = drawManifold(VIEW, 400);
  const [valve] = drawn.boxes;
  expect(valve!.width / valve!.height).toBeCloseTo(40 / 50);
  for (const box of drawn.boxes) {
    expect(box.x).toBeGreaterThanOrEqual(0);
    expect(box.x + box.width).toBeLessThanOrEqual(400);
  }
  const [across] = drawn.lines;
  expect(across![2] - across![0]).toBeCloseTo(5 * valve!.width);
});

test("v goes up", () => {
  const [valve, , lowest] = drawManifold(VIEW, 400).boxes;
  expect(valve!.y).toBeLessThan(lowest!.y);
});

test("a valve's name comes before the letter of a pipe under it", () => {
  const words = drawManifold(VIEW, 400).words.map((word) => word.words);
  expect(words).toContain("Z1");
  expect(words).toContain("B");
  expect(words).not.toContain("A");
});
