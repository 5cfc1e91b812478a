import { describe, expect, test } from "vitest";
import type { SitePoint } from "../geometry/points.ts";
import { contains } from "../geometry/rings.ts";
import { crosses, dimensionLabels, namePlaces, putName, ringPath } from "./ground.ts";
import { LabelBoard } from "./labels.ts";
import { gridLines, gridStep, scaleBar } from "./grid.ts";
import { slopePixels } from "./terrain.ts";

const VIEW = { scale: 10, x: 0, y: 200 };
const LAWN: SitePoint[] = [
  [0, 0],
  [20, 0],
  [20, 20],
  [0, 20],
];
const HOUSE: SitePoint[] = [
  [4, 4],
  [16, 4],
  [16, 16],
  [4, 16],
];

describe("names", () => {
  const areas = [
    { id: "lawn", outline: LAWN, holes: [] },
    { id: "house", outline: HOUSE, holes: [] },
  ];
  test("stand where the area lies open", () => {
    const [lawn, house] = namePlaces(areas);
    for (const at of lawn!.points) expect(contains(HOUSE, at)).toBe(false);
    expect(contains(HOUSE, house!.points[0]!)).toBe(true);
  });
  test("are left out where there is no room, and stand upright in narrow strips", () => {
    const strip = namePlaces([
      {
        id: "side strip",
        outline: [
          [0, 0],
          [3, 0],
          [3, 20],
          [0, 20],
        ],
        holes: [],
      },
    ])[0]!;
    expect(putName(new LabelBoard(), strip, VIEW)!.turn).toBe(-90);
    expect(putName(new LabelBoard(), strip, { ...VIEW, scale: 1 })).toBeNull();
  });
  test("lie over no other, and take another place before they go", () => {
    const board = new LabelBoard();
    const places = [0, 1, 2].map(() => putName(board, namePlaces(areas)[0]!, VIEW));
    const middles = places.map((label) => label!.at.join());
    expect(new Set(middles).size).toBe(3);
    board.block([-999, -999, 999, 999]);
    expect(putName(board, namePlaces(areas)[0]!, VIEW)).toBeNull();
  });
});

test("an outline is a closed path, its hole another", () => {
  expect(ringPath([HOUSE.slice(0, 3), LAWN.slice(0, 3)])).toBe("M4 4L16 4L16 16ZM0 0L20 0L20 20Z");
});

test("lengths stand outside their edges, whichever way the ring runs, and are never upside down", () => {
  const show = (metres: number) => `${metres}`;
  for (const ring of [LAWN, [...LAWN].reverse()]) {
    const labels = dimensionLabels(ring, VIEW, show);
    expect(labels.map((label) => label.text)).toEqual(["20", "20", "20", "20"]);
    for (const { at, turn } of labels) {
      const outside = at[0] < 0 || at[0] > 200 || at[1] < 0 || at[1] > 200;
      expect(outside).toBe(true);
      expect(Math.abs(turn)).toBeLessThanOrEqual(90);
    }
  }
  expect(dimensionLabels(LAWN, { ...VIEW, scale: 1 }, show)).toEqual([]);
});

test("crosses of many points are one path", () => {
  expect(crosses([[1, 2]], VIEW)).toBe("M6 180h8M10 176v8");
});

test("the grid has round steps and covers the drawing", () => {
  expect(gridStep(100, "metric")).toBe(0.5);
  expect(gridStep(100, "US")).toBeCloseTo(0.3048, 9);
  expect(gridLines({ scale: 10, x: 5, y: 95 }, 100, 100, 5)).toBe("M5.5 0V100M55.5 0V100M0 95.5H100M0 45.5H100");
  expect(scaleBar(10, "metric")).toEqual({ pixels: 100, words: "10 m" });
  expect(scaleBar(20, "US").words).toBe("10 ft");
});

test("the steeper the ground, the deeper its shade; rows run down the picture", () => {
  const counts = btoa(String.fromCharCode(0, 35, 70, 255));
  const pixels = slopePixels({ x0: 0, y0: 0, step_x: 1, step_y: 1, nx: 2, ny: 2, step: 0.005, counts }, [1, 2, 3]);
  expect([...pixels]).toEqual([1, 2, 3, 110, 1, 2, 3, 110, 1, 2, 3, 0, 1, 2, 3, 55]);
});
