import { describe, expect, it } from "vitest";
import { fields, NONE } from "./words.ts";

describe("what is told of a winter", () => {
  it("is sent as it was typed, and what was left empty is not sent", () => {
    expect(fields({ ...NONE, tonight: "-4 C", lagged: true }, null)).toEqual({
      compressor: "workshop",
      tonight: "-4 C",
      lagged: "true",
    });
  });

  it("takes the weather along", () => {
    const weather = new File(["date,tmax_c,tmin_c"], "daily.csv");
    expect(fields(NONE, weather)).toEqual({ compressor: "workshop", weather });
  });
});
