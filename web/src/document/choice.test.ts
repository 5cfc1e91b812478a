import { describe, expect, test } from "vitest";
import { putTogether, usual } from "./choice.ts";
import type { Stale } from "./history.ts";

describe("choice", () => {
  const here = { present: true, value: "here" };
  const there = { present: true, value: "there" };
  const gone = { present: false };
  const stale: Stale = {
    current: 2,
    merged: { areas: ["there", "here", "here"] },
    conflicts: [
      { pointer: "/areas/0", mine: gone, theirs: there },
      { pointer: "/areas/1", mine: here, theirs: gone },
      { pointer: "/areas/2", mine: here, theirs: there },
    ],
    mine: [],
    theirs: [],
  };
  test("what is there holds over a deletion unless the deletion is picked", () => {
    expect(stale.conflicts.map(usual)).toEqual(["theirs", "mine", "mine"]);
    expect(putTogether(stale, {})).toEqual(stale.merged);
    expect(putTogether(stale, { "/areas/0": "mine", "/areas/1": "theirs", "/areas/2": "theirs" })).toEqual({
      areas: ["there"],
    });
  });
});
