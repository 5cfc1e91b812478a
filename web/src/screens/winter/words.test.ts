import { describe, expect, it } from "vitest";
import { fields, NONE } from "./words.ts";

describe("what is told of a winter", () => {
  it("is sent as it was typed, and what was left empty is not sent", () => {
    expect(fields({ ...NONE, tonight: "-4 C", lagged: true })).toEqual({
      compressor: "workshop",
      tonight: "-4 C",
      lagged: "true",
    });
  });
});
