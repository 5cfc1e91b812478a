import { expect, test } from "vitest";
import type { Schemas } from "../../api/client.ts";
import type { SitePoint } from "../../geometry/points.ts";
import { changeTold, differenceTold, marksOf, turned } from "./compared.ts";

const figure = (name: string, dimension: string, before: number | null, after: number | null) => ({
  ...{ name, dimension, before, after, key: "" },
});
const FIGURES = [figure("heads", "count", 31, 29), figure("zones", "count", 4, 5), figure("cost", "money", 1590, 1505)];
const show = (value: number, dimension: string) =>
  dimension === "money" ? `${value.toFixed(0)} USD` : dimension === "count" ? String(value) : `${value.toFixed(1)} m`;
const HEADS: Schemas["HeadChange"][] = [
  { kind: "moved", before: "H1", after: "H2", distance: 1, what: [] },
  { kind: "removed", before: "H2", after: null, distance: 0, what: [] },
  { kind: "added", before: null, after: "H3", distance: 0, what: [] },
  { kind: "same", before: "H4", after: "H4", distance: 0, what: [] },
];
const FOUND: Schemas["Comparison"] = {
  figures: FIGURES,
  heads: HEADS,
  zones: [{ before: "Z1", after: "Z2", shared: 3, left: ["H2"], joined: ["H3"] }],
  parts: [{ id: "tee", part: "tee", unit: "piece", before: 4, after: 2, cost: -3 }],
  new: [],
  gone: [{ rule: "r", severity: "know", where: "Z1", what: "w", do: "", source: "" } as Schemas["Finding"]],
};

test("the change is told in words, and in words the other way round", () => {
  expect(changeTold(FIGURES, show)).toBe("2 heads fewer, 1 zone more, 85 USD less");
  expect(changeTold(turned(FOUND).figures, show)).toBe("2 heads more, 1 zone fewer, 85 USD more");
  expect(changeTold([figure("heads", "count", 3, 3)], show)).toBe("as many heads and zones, at the same cost");
});

test("a number differs by what is shown, and not by what is not", () => {
  const told = (before: number | null, after: number | null) =>
    differenceTold(figure("trench length", "length", before, after), (value) => show(value, "length"));
  expect([told(10, 12.5), told(10, 9), told(10, 10.01), told(10, 10), told(null, 3)]).toEqual([
    ...["2.5 m more", "1.0 m less", "same", "same", ""],
  ]);
});

test("turned twice it is as it was", () => {
  expect(turned(turned(FOUND))).toEqual(FOUND);
  expect(turned(FOUND).heads.map((one) => one.kind)).toEqual(["moved", "added", "removed", "same"]);
  expect(turned(FOUND).parts[0]).toMatchObject({ before: 2, after: 4, cost: 3 });
});

test("each drawing marks its own heads, where heads went, and what only the other has", () => {
  const places = (...heads: [string, SitePoint][]) => new Map(heads);
  const before = places(["H1", [0, 0]], ["H2", [5, 0]], ["H4", [9, 9]]);
  const after = places(["H2", [1, 0]], ["H3", [0, 5]], ["H4", [9, 9]]);
  const [one, two] = marksOf(HEADS, [before, after]);
  expect([...one.tints]).toEqual([
    ["H1", "moved"],
    ["H2", "removed"],
  ]);
  expect([...two.tints]).toEqual([
    ["H2", "moved"],
    ["H3", "added"],
  ]);
  expect([one.moves, two.moves]).toEqual([
    [
      [
        [0, 0],
        [1, 0],
      ],
    ],
    [
      [
        [0, 0],
        [1, 0],
      ],
    ],
  ]);
  expect([one.ghosts, two.ghosts]).toEqual([[[0, 5]], [[5, 0]]]);
});
