import { expect, test } from "vitest";
import { outOf100 } from "./chance.ts";

test("no chance is told as certain", () => {
  expect([outOf100(1), outOf100(0.996), outOf100(0.843), outOf100(0)]).toEqual([
    "more than 99 of 100",
    "more than 99 of 100",
    "84 of 100",
    "fewer than 1 of 100",
  ]);
});
