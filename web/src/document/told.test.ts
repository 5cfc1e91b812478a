import { expect, test } from "vitest";
import type { JsonObject } from "./json.ts";
import { placeTold, valueTold } from "./told.ts";

const YARD: JsonObject = {
  units: "metric",
  areas: [{ id: "front lawn", kind: "lawn", exposure: "shade" }, { kind: "bed" }],
  trees: [{ id: "oak", at: [1, 2] }],
  supply: [{ kind: "static gauge", pressure: 400 }],
  controller: { at: [0, 0], stations: 6 },
};

test.each([
  [["areas", 0, "exposure"], "front lawn, exposure"],
  [["areas", 0], "front lawn"],
  [["areas", 1, "outline"], "area 2, outline"],
  [["areas", 0, "holes", 1], "front lawn, hole 2"],
  [["trees", 0, "trunk_radius"], "tree oak, trunk radius"],
  [["supply", 0, "pressure"], "reading 1, pressure"],
  [["controller", "stations"], "controller, stations"],
  [["budget"], "budget"],
  [[], "the yard"],
] as const)("%j is told as %s", (path, told) => {
  expect(placeTold(YARD, path)).toBe(told);
});

test.each([
  [undefined, "not given"],
  [null, "not given"],
  [true, "yes"],
  [12.5, "12.5"],
  ["12 ft 6 in", "12 ft 6 in"],
  [[], "none"],
  [["spray", "rotary"], "spray, rotary"],
  [[3, 4], "3, 4"],
  [
    [
      [0, 0],
      [4, 0],
      [4, 3],
    ],
    "3 corners round 6.0 m², the first at 0, 0",
  ],
  [{ id: "bed 2", kind: "bed", keep_dry: false }, "bed 2, bed, keep dry no"],
  [{ kind: "static gauge", pressure: 400 }, "static gauge, pressure 400"],
  [[{ kind: "a" }, { kind: "b" }], "a; b"],
] as const)("%j is told as %s", (value, told) => {
  expect(valueTold(YARD, value)).toBe(told);
});
