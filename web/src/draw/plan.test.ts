import { describe, expect, it } from "vitest";
import type { ScreenPoint, SitePoint } from "../geometry/points.ts";
import { countsOf, depthAt, pictureOf } from "./depth.ts";
import { thingAt } from "./hits.ts";
import { LabelBoard, SIZE, textWidth } from "./labels.ts";
import { lanedPaths, lanesOf, pipeWidth, shiftDirection } from "./lanes.ts";
import { zoneColour, zoneDash } from "./palette.ts";
import { movedOff } from "./marks.ts";
import { rowAt, sectionRows } from "./section.ts";
import { sectorPath, stripReach, throwPath } from "./throws.ts";
import { whereIs } from "./whereabouts.ts";
import { areaNames, wordsAt, type SizedRun } from "./planWords.ts";
import { DRIEST, WETTEST, waterColour } from "./waterColours.ts";

const lightness = ([r, g, b]: readonly [number, number, number]) => 0.2126 * r + 0.7152 * g + 0.0722 * b;

describe("depth of water", () => {
  const bytes = [0, 100, 200, 255, 50, 150];
  const grid = {
    lawn: "a",
    x0: 10,
    y0: 20,
    cell: 0.5,
    nx: 3,
    ny: 2,
    step: 0.01,
    counts: btoa(String.fromCharCode(...bytes)),
  };

  it("turns the rows over, since a picture's first row is its highest", () => {
    const { width, height, data } = pictureOf(grid);
    expect([width, height, data.length]).toEqual([3, 2, 24]);
    const shown = (count: number) => [...waterColour(count * grid.step), 255];
    expect([...data.slice(0, 4)]).toEqual(shown(255));
    expect([...data.slice(12, 16)]).toEqual(shown(0));
    expect([...data.slice(20, 24)]).toEqual(shown(200));
  });

  it("reads the depth at a place, and none off the grid", () => {
    const counts = countsOf(grid);
    expect(depthAt(grid, counts, 10.1, 20.1)).toBeCloseTo(0);
    expect(depthAt(grid, counts, 11.2, 20.9)).toBeCloseTo(1.5);
    expect(depthAt(grid, counts, 9.9, 20.1)).toBeNull();
    expect(depthAt(grid, counts, 11.6, 20.1)).toBeNull();
  });

  it.each([false, true])("gets darker the wetter it is, all the way; by night: %s", (night) => {
    const along = Array.from({ length: 60 }, (_, i) => lightness(waterColour(0.25 + i / 40, night)));
    for (let i = 1; i < along.length; i += 1) expect(along[i]!).toBeLessThan(along[i - 1]!);
    expect(along[0]! - along.at(-1)!).toBeGreaterThan(120);
  });

  it("holds the colours of the scale's ends beyond them", () => {
    expect([DRIEST, WETTEST]).toEqual([0.25, 1.75]);
    expect(waterColour(0)).toEqual(waterColour(DRIEST));
    expect(waterColour(9)).toEqual(waterColour(WETTEST));
    expect(waterColour(1)).not.toEqual(waterColour(1, true));
  });
});

it("gives no two of the first 64 zones both colour and dash of another", () => {
  const looks = Array.from({ length: 64 }, (_, i) => `${zoneColour(i)} ${zoneDash(i)}`);
  expect(new Set(looks).size).toBe(64);
});

describe("throws", () => {
  /** Points of a path's M, L and A commands. */
  const ends = (d: string) =>
    [...d.matchAll(/[ML]?(-?[\d.]+) (-?[\d.]+)(?=[LAZ]|$)/g)].map((m) => [Number(m[1]), Number(m[2])]);

  it("draws a sector from its start, counter-clockwise", () => {
    const d = sectorPath([1, 2], 5, 0, 90);
    expect(d).toBe("M1 2L6 2A5 5 0 0 1 1 7Z");
  });

  it("takes the long way round for more than half a turn, and a closed circle for all of it", () => {
    expect(sectorPath([0, 0], 2, 90, 270)).toContain("A2 2 0 1 1");
    expect(sectorPath([0, 0], 2, 0, 360).match(/a/g)).toHaveLength(2);
  });

  it("reaches as a strip pattern does", () => {
    expect(stripReach({ pattern: "side strip", width: 1.2 }, 9)).toEqual([4.5, 4.5, 0, 1.2]);
    expect(stripReach({ pattern: "end strip", width: 1.2 }, 9)).toEqual([0, 9, 0.6, 0.6]);
    expect(stripReach({ pattern: "centre strip", width: 1.2 }, 9)).toEqual([4.5, 4.5, 0.6, 0.6]);
  });

  it("turns a strip by its direction, water to the left of a side strip", () => {
    const head = { at: [0, 0] as SitePoint, arc_start: 90, arc: 0, radius: 4 };
    const corners = ends(throwPath(head, { pattern: "side strip", width: 1 }));
    expect(Math.min(...corners.map((c) => c[0]!))).toBeCloseTo(-1);
    expect(Math.max(...corners.map((c) => c[0]!))).toBeCloseTo(0);
    expect(Math.max(...corners.map((c) => c[1]!))).toBeCloseTo(2);
  });
});

describe("lanes", () => {
  const pipe = (id: string, zone: string | null, path: SitePoint[], start = "a", end = "b") => ({
    id,
    zone,
    path,
    start,
    end,
  });
  const shared: SitePoint[] = [
    [0, 0],
    [10, 0],
  ];
  const pipes = [
    pipe("m", null, shared),
    pipe("1", "Z1", shared),
    pipe("2", "Z2", shared, "h", "b"),
    pipe("3", "Z3", shared),
  ];
  const trench = { path: shared, pipes: ["m", "1", "2", "3"] };

  it("gives zones that share a trench different lanes, and the main the middle", () => {
    const lanes = lanesOf(["Z1", "Z2", "Z3"], pipes, [trench]);
    expect(lanes.get("")).toBe(0);
    expect(new Set(lanes.values()).size).toBe(4);
    expect(lanesOf(["Z1"], pipes, []).get("Z1")).toBe(0);
  });

  it("shifts across the shared trench, and ends at a head's true place", () => {
    const across = shiftDirection([trench]);
    expect(Math.abs(across[1])).toBeGreaterThan(0.7);
    const paths = lanedPaths(pipes, lanesOf(["Z1", "Z2", "Z3"], pipes, [trench]), across, 0.5, new Set(["h"]));
    expect(paths.get("m")).toEqual(shared);
    expect(paths.get("2")![0]).toEqual([0, 0]);
    expect(paths.get("2")).toHaveLength(3);
    expect(paths.get("1")![0]).not.toEqual([0, 0]);
  });

  it("draws a wider pipe wider", () => {
    const widths = [0.0158, 0.0209, 0.0266, 0.035].map((bore) => pipeWidth(bore, "lateral"));
    expect([...widths].sort((a, b) => a - b)).toEqual(widths);
    expect(pipeWidth(0.02, "main")).toBeGreaterThan(pipeWidth(0.02, "lateral"));
  });
});

describe("labels", () => {
  const none = { heads: [], places: [], runs: [], names: [], marks: [] };
  const line = (id: string, y: number, zone = "Z1", long = 4) => ({
    ...{ id, zone, size: "3/4 in" },
    path: [
      [0, y],
      [long, y],
    ] as SitePoint[],
  });

  it("puts words beside marks, none over another", () => {
    const board = new LabelBoard();
    const put = Array.from({ length: 9 }, () => board.beside("H12", [100, 100], 6)).filter((label) => label !== null);
    expect(put.length).toBeGreaterThan(3);
    for (const [i, { at: a }] of put.entries()) {
      for (const { at: b } of put.slice(i + 1)) {
        expect(Math.abs(a[0] - b[0]) >= textWidth("H12") || Math.abs(a[1] - b[1]) >= SIZE).toBe(true);
      }
    }
  });

  it("keeps words off lines but for the one they name", () => {
    const board = new LabelBoard();
    const path = [
      [-500, 40],
      [500, -40],
    ] as ScreenPoint[];
    board.avoid(path, "pipe");
    expect(board.put("words", [0, 0], { clear: true })).toBeNull();
    expect(board.put("words", [300, 0], { clear: true })).not.toBeNull();
    expect(board.put("words", [0, 0], { clear: true, own: "pipe" })).not.toBeNull();
    const { at } = board.beside("H1", [100, -8], 6)!;
    expect(Math.abs(at[1] + 8 * (at[0] / 100))).toBeGreaterThan(SIZE / 2);
  });

  it("looks only at what a screen can show of a line, however long", () => {
    const board = new LabelBoard();
    board.avoid([
      [-1e15, 40],
      [1e15, 40],
    ]);
    board.avoid([
      [0, 1e15],
      [1e15, 1e15],
    ]);
    expect(board.put("words", [600, 40], { clear: true })).toBeNull();
    expect(board.put("words", [600, 90], { clear: true })).not.toBeNull();
  });

  it("leaves out what has no room, and brings it when the drawing is larger", () => {
    const heads = Array.from({ length: 40 }, (_, i) => ({
      text: `H${i}`,
      at: [0.2 * (i % 8), 0.2 * Math.floor(i / 8)] as SitePoint,
    }));
    const [small, large] = [5, 300].map((scale) => wordsAt(scale, { ...none, heads }).heads.length);
    expect(small).toBeLessThan(40);
    expect(large).toBe(40);
  });

  it("prints a size only on a run that is long enough", () => {
    expect(wordsAt(5, { ...none, runs: [line("a", 0)] }).sizes).toHaveLength(0);
    const [label] = wordsAt(40, { ...none, runs: [line("a", 0)] }).sizes;
    expect(label!.at[0]).toBe(80);
  });

  it("tells a size again only far away, or of another zone", () => {
    const sizes = (runs: readonly SizedRun[]) => wordsAt(40, { ...none, runs }).sizes.length;
    expect(sizes([line("a", 0), line("b", 2)])).toBe(1);
    expect(sizes([line("a", 0), line("b", 8)])).toBe(2);
    expect(sizes([line("a", 0), line("b", 2, "Z2")])).toBe(2);
  });

  it("gives a valve place its zones where there is room", () => {
    const places = [{ text: "V1", more: ": Z1, Z2", at: [0, 0] as SitePoint }];
    expect(wordsAt(40, { ...none, places }).places[0]!.text).toBe("V1: Z1, Z2");
    const marks = [-1, 1].flatMap((x) => [-3, -2, -1, 0, 1, 2, 3].map((y) => [x, 0.4 * y] as SitePoint));
    expect(wordsAt(40, { ...none, places, marks }).places[0]?.text).toBe("V1");
  });

  it("names an area on its largest piece", () => {
    const square = (x: number, side: number): SitePoint[] => [
      [x, 0],
      [x + side, 0],
      [x + side, side],
      [x, side],
    ];
    const [name] = areaNames(
      new Map([["lawn", [square(0, 1), square(10, 4)].map((outline) => ({ outline, holes: [] }))]]),
    );
    expect(name!.at[0]![0]).toBeGreaterThan(10);
  });
});

it("draws a mark beside another that it would lie on", () => {
  expect(movedOff([3, 3], [[0, 0]], 10)).toEqual([3, 3]);
  expect(movedOff([0, 0.1], [[0, 0]], 10)).toEqual([0, 1.8]);
  expect(movedOff([0, 0], [[0, 0]], 10)).toEqual([-1.8, 0]);
});

it("finds what lies under a press: a head before the pipe it stands on", () => {
  const plan = {
    heads: [{ id: "H1", at: [0, 0] as SitePoint }],
    places: [{ id: "V1", at: [5, 5] as SitePoint }],
    pipes: [
      {
        id: "Z1.1",
        path: [
          [0, 0],
          [10, 0],
        ] as SitePoint[],
      },
    ],
  };
  expect(thingAt([0.1, 0.1], 0.5, plan)).toBe("H1");
  expect(thingAt([5.2, 5], 0.5, plan)).toBe("V1");
  expect(thingAt([5, 0.2], 0.5, plan)).toBe("Z1.1");
  expect(thingAt([5, 0.4], 0.5, plan)).toBeNull();
});

describe("section", () => {
  const weight = 9.8e3;
  const points = [
    { distance: 0, ground: 2, pipe: 1, static: 4 * weight, working: 3 * weight },
    { distance: 2, ground: 2.5, pipe: 2, static: 3 * weight, working: 1.5 * weight },
  ];
  it("lays pressure on the pipe as a height of water: static stays level", () => {
    const rows = sectionRows({ weight, points }, (value) => value / 0.5);
    expect(rows.map((row) => row.static)).toEqual([10, 10]);
    expect(rows.map((row) => row.working)).toEqual([8, 7]);
    expect(rows[1]!.distance).toBe(4);
  });
  it("reads the nearest place along the way", () => {
    const rows = sectionRows({ weight, points }, (value) => value);
    expect(rowAt(rows, 0.9)!.distance).toBe(0);
    expect(rowAt(rows, 1.1)!.distance).toBe(2);
    expect(rowAt([], 1)).toBeNull();
  });
});

it("leads a finding to its place, and nowhere when it has none", () => {
  const plan = {
    heads: [
      { id: "H1", at: [1, 1] as SitePoint },
      { id: "H2", at: [4, 3] as SitePoint },
    ],
    zones: [{ id: "Z1", heads: ["H1", "H2"] }],
    places: [{ id: "V1", at: [0, 0] as SitePoint }],
    pipes: [
      {
        id: "M1",
        path: [
          [0, 0],
          [1, 0],
        ] as SitePoint[],
      },
    ],
    trenches: [
      {
        id: "T1",
        path: [
          [0, 0],
          [0, 2],
        ] as SitePoint[],
      },
    ],
    nodes: [],
  };
  const lawns = new Map([
    [
      "front",
      [
        {
          outline: [
            [0, 0],
            [9, 0],
            [9, 9],
          ] as SitePoint[],
          holes: [],
        },
      ],
    ],
  ]);
  const at = (name: string) => whereIs(name, plan, lawns, [7, 7]);
  expect(at("H2")!.extent).toEqual({ low: [4, 3], high: [4, 3] });
  expect(at("Z1")).toMatchObject({ kind: "zone", extent: { low: [1, 1], high: [4, 3] } });
  expect([at("V1")!.kind, at("M1")!.kind, at("T1")!.kind, at("front")!.kind]).toEqual([
    "place",
    "pipe",
    "trench",
    "lawn",
  ]);
  expect(at("supply")!.extent.low).toEqual([7, 7]);
  expect(at("wind")).toBeNull();
});
