import { describe, expect, test } from "vitest";
import { fromFile, readLength, showLength, toFile } from "./lengths.ts";
import { bearing, lineMeetsSegment, nearestOnSegment, toward, type SitePoint } from "./points.ts";
import {
  contains,
  insertCorner,
  labelPoints,
  perimeter,
  removeCorner,
  selfCrossing,
  setEdgeLength,
  signedArea,
  strip,
} from "./rings.ts";
import { snap } from "./snap.ts";
import { aim, layByTwoPoints, readDirection } from "./tape.ts";
import { extentOf, fit, toScreen, toSite, zoom } from "./view.ts";

const SQUARE: SitePoint[] = [
  [0, 0],
  [10, 0],
  [10, 10],
  [0, 10],
];
const ELL: SitePoint[] = [
  [0, 0],
  [10, 0],
  [10, 4],
  [4, 4],
  [4, 10],
  [0, 10],
];

describe("lengths", () => {
  test.each([
    ["12", "US", 12 * 0.3048],
    ["12", "metric", 12],
    ["12.5", "metric", 12.5],
    ["12,5", "metric", 12.5],
    ["12 6", "US", 12.5 * 0.3048],
    ["12-6", "US", 12.5 * 0.3048],
    ["12' 6\"", "US", 12.5 * 0.3048],
    ["12′ 6¼″", "US", 12 * 0.3048 + 6.25 * 0.0254],
    ["0′ ½″", "US", 0.5 * 0.0254],
    ["12' 6", "US", 12.5 * 0.3048],
    ["72 ft 6 1/2 in", "metric", 72 * 0.3048 + 6.5 * 0.0254],
    ["-4 ft 6 in", "US", -4.5 * 0.3048],
    ["3/4 in", "US", 0.75 * 0.0254],
    ["380 cm", "US", 3.8],
  ] as const)("%s in %s", (text, system, metres) => {
    expect(readLength(text, system)).toBeCloseTo(metres, 9);
  });

  test.each(["", "abc", "12 psi", "1/0", "12 6 in x", "--4", "4 4 4"])("'%s' is none", (text) => {
    expect(readLength(text, "US")).toBeNull();
  });

  test("what is shown can be typed again, to an eighth of an inch or half a centimetre", () => {
    for (let metres = 0; metres < 40; metres += 0.0371) {
      expect(Math.abs(readLength(showLength(metres, "US"), "US")! - metres)).toBeLessThanOrEqual(0.0254 / 8 + 1e-9);
      expect(Math.abs(readLength(showLength(metres, "metric"), "metric")! - metres)).toBeLessThanOrEqual(0.005 + 1e-9);
    }
  });

  test("eleven and seven eighths inches round up to a foot", () => {
    expect(showLength(0.3048 - 0.001, "US")).toBe("1′ 0″");
  });

  test("the file holds thousandths", () => {
    expect(toFile(1, "US")).toBe(3.281);
    expect(fromFile("72 ft 6 in", "metric")).toBeCloseTo(22.098, 9);
    expect(fromFile(null, "US")).toBeNull();
  });
});

describe("points", () => {
  test("main directions are exact", () => {
    expect(toward([1, 2], 3, 90)).toEqual([1, 5]);
    expect(toward([1, 2], 3, -180)).toEqual([-2, 2]);
  });
  test("bearing and toward undo each other", () => {
    for (let turn = 0; turn < 360; turn += 7) expect(bearing([2, 3], toward([2, 3], 5, turn))).toBeCloseTo(turn, 9);
  });
  test("foot on a segment stays on it", () => {
    expect(nearestOnSegment([5, 3], [0, 0], [10, 0])).toEqual([5, 0]);
    expect(nearestOnSegment([-5, 3], [0, 0], [10, 0])).toEqual([0, 0]);
  });
  test("a line meets a segment or not", () => {
    expect(lineMeetsSegment([5, 5], 90, [0, 0], [10, 0])).toEqual([5, 0]);
    expect(lineMeetsSegment([50, 5], 90, [0, 0], [10, 0])).toBeNull();
    expect(lineMeetsSegment([5, 5], 0, [0, 0], [10, 0])).toBeNull();
  });
});

describe("rings", () => {
  test("area and perimeter of an L", () => {
    expect(signedArea(ELL)).toBe(64);
    expect(signedArea([...ELL].reverse())).toBe(-64);
    expect(perimeter(ELL)).toBe(40);
  });
  test("inside and outside of an L, and its name lies inside", () => {
    expect(contains(ELL, [2, 8])).toBe(true);
    expect(contains(ELL, [8, 8])).toBe(false);
    expect(contains(ELL, labelPoints(ELL)[0]!)).toBe(true);
  });
  test("a name keeps clear of what lies over its area", () => {
    const house: SitePoint[] = [
      [1, 1],
      [9, 1],
      [9, 9],
      [1, 9],
    ];
    const at = labelPoints(SQUARE, [house])[0]!;
    expect(contains(SQUARE, at)).toBe(true);
    expect(contains(house, at)).toBe(false);
  });
  test("corners come and go, but three stay", () => {
    expect(insertCorner(SQUARE, 3, [0, 5])).toHaveLength(5);
    expect(removeCorner(SQUARE, 0)).toEqual(SQUARE.slice(1));
    expect(removeCorner(SQUARE.slice(0, 3), 0)).toHaveLength(3);
  });
  test("an edge takes another length in its own direction", () => {
    expect(setEdgeLength(SQUARE, 0, 12)[1]).toEqual([12, 0]);
  });
  test("a bow tie crosses itself, an L does not", () => {
    expect(
      selfCrossing([
        [0, 0],
        [10, 0],
        [0, 10],
        [10, 10],
      ]),
    ).toEqual([1, 3]);
    expect(selfCrossing(ELL)).toBeNull();
  });
  test("a strip round a bent line is as wide as asked and does not cross itself", () => {
    const ring = strip(
      [
        [0, 0],
        [10, 0],
        [10, 10],
      ],
      1,
    );
    expect(Math.abs(signedArea(ring))).toBeCloseTo(20, 9);
    expect(selfCrossing(ring)).toBeNull();
    expect(strip([[0, 0]], 1)).toEqual([]);
  });
});

describe("snapping", () => {
  const ground = { rings: [SQUARE], grid: 0.5, reach: 0.3 };
  test("a corner before an edge, an edge before the grid", () => {
    expect(snap([10.2, 0.1], ground)).toMatchObject({ at: [10, 0], kind: "corner" });
    expect(snap([5.2, 0.1], ground)).toMatchObject({ at: [5.2, 0], kind: "edge" });
    expect(snap([15.1, 5.1], ground)).toMatchObject({ at: [15, 5], kind: "grid" });
  });
  test("without grid and ground the pointer stays", () => {
    expect(snap([3.3, 4.4], { rings: [], grid: 0, reach: 0.3 })).toMatchObject({ at: [3.3, 4.4], kind: "free" });
  });
  test("right angles to a slanting edge", () => {
    const path: SitePoint[] = [
      [20, 20],
      [23, 24],
    ];
    const found = snap([19.1, 27.1], { rings: [], path, grid: 0, reach: 0.3 });
    expect(found.kind).toBe("square");
    expect((((bearing(path[1]!, found.at) - bearing(path[0]!, path[1]!)) % 360) + 360) % 360).toBeCloseTo(90, 6);
  });
  test("the fourth corner of a rectangle lies level with the first", () => {
    const path: SitePoint[] = [
      [1, 1],
      [6, 1],
      [6, 4],
    ];
    expect(snap([1.1, 4.1], { rings: [], path, grid: 0, reach: 0.3 }).at).toEqual([1, 4]);
  });
  test("from the end of a path square onto an edge", () => {
    const path: SitePoint[] = [[5, 5]];
    expect(snap([5.2, 0.1], { ...ground, path })).toMatchObject({ at: [5, 0], kind: "square" });
  });
});

describe("tape", () => {
  test("directions, also as turns from the last edge", () => {
    expect(readDirection("90", 0)).toBe(90);
    expect(readDirection("-90°", 0)).toBe(270);
    expect(readDirection("l90", 30)).toBe(120);
    expect(readDirection("R 45", 30)).toBe(345);
    expect(readDirection("up", 0)).toBeNull();
  });
  test("length alone goes toward the pointer, both go where they say", () => {
    expect(aim([[0, 0]], ["5", ""], [0, 2], "metric")![1]).toBeCloseTo(5, 9);
    expect(aim([[1, 1]], ["5", "180"], null, "metric")).toEqual([-4, 1]);
    expect(aim([[1, 1]], ["x", ""], [3, 3], "metric")).toBeNull();
    expect(aim([], ["2", "3"], null, "metric")).toEqual([2, 3]);
    expect(aim([], ["", ""], [7, 8], "metric")).toEqual([7, 8]);
    expect(aim([[1, 1]], ["20000", "0"], null, "metric")).toBeNull(); // no yard reaches so far
  });
  test.each([
    ["5 l", [3, 6]],
    ["5l90", [3, 6]],
    ["5 m r", [3, -4]],
    ["10 r 180", [-7, 1]],
    ["500 cm L", [3, 6]],
  ] as const)("%s behind an edge to the right goes on with a turn", (text, place) => {
    const [x, y] = aim(
      [
        [0, 1],
        [3, 1],
      ],
      [text, ""],
      null,
      "metric",
    )!;
    expect([x, y].map((value) => Math.round(value * 1e6) / 1e6 + 0)).toEqual(place);
  });
  test("a turn needs a length before it, and gives way to a direction", () => {
    expect(
      aim(
        [
          [0, 1],
          [3, 1],
        ],
        ["l", ""],
        null,
        "metric",
      ),
    ).toBeNull();
    expect(
      aim(
        [
          [0, 1],
          [3, 1],
        ],
        ["5 l", "90"],
        null,
        "metric",
      ),
    ).toBeNull();
  });
  test("a picture laid by two points carries both to their places", () => {
    const lay = { at: [3, 4] as SitePoint, metresPerPixel: 0.1, turn: 20 };
    const place = (pixel: SitePoint, by: typeof lay): SitePoint => {
      const along = toward(by.at, pixel[0] * by.metresPerPixel, by.turn);
      return toward(along, pixel[1] * by.metresPerPixel, by.turn + 90);
    };
    const [one, two] = [place([40, 30], lay), place([200, 90], lay)];
    const laid = layByTwoPoints(lay, one, two, { length: 12, direction: 90, to: [5, 6] })!;
    const [first, second] = [place([40, 30], { ...laid }), place([200, 90], { ...laid })];
    expect(first[0]).toBeCloseTo(5, 9);
    expect(first[1]).toBeCloseTo(6, 9);
    expect(second[0]).toBeCloseTo(5, 9);
    expect(second[1]).toBeCloseTo(18, 9);
  });
});

describe("view", () => {
  const view = { scale: 20, x: 100, y: 300 };
  test("screen and plan undo each other", () => {
    const [x, y] = toSite(view, toScreen(view, [3, -4]));
    expect(x).toBeCloseTo(3, 9);
    expect(y).toBeCloseTo(-4, 9);
  });
  test("zooming keeps what lies under the pointer", () => {
    const before = toSite(view, [50, 60]);
    expect(toSite(zoom(view, 1.7, [50, 60]), [50, 60])[0]).toBeCloseTo(before[0], 9);
  });
  test("an extent fits in the middle", () => {
    const fitted = fit(extentOf(SQUARE)!, 400, 300, 50);
    expect(fitted.scale).toBe(20);
    expect(toScreen(fitted, [5, 5])).toEqual([200, 150]);
  });
});
