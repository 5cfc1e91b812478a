import { describe, expect, it } from "vitest";
import { withPut } from "./put.ts";

const YARD = {
  name: "invented",
  spot_heights: [{ at: [0, 0], height: 1 }],
  soil: { texture: "loam", capillary_rise: 0 },
};

describe("what a conclusion puts into the yard", () => {
  it("adds heights once and leaves the rest as it stands", () => {
    const height = { at: [1, 2], height: 0.3, error: 0.05 };
    const put = { words: "1 height of the log", heights: [height], replaced: [], texture: "" };
    const found = withPut(YARD, put);
    expect(found).toEqual({ ...YARD, spot_heights: [{ at: [0, 0], height: 1 }, height] });
    expect(withPut(found, put)).toEqual(found);
    expect(YARD.spot_heights).toHaveLength(1);
  });

  it("lets a height of the log stand in for the yard's at the same spot, once", () => {
    const height = { at: [0, 0], height: 1.2 };
    const put = {
      words: "1 height of the log",
      heights: [height],
      replaced: [[0, 0] as [number, number]],
      texture: "",
    };
    const found = withPut(YARD, put);
    expect(found["spot_heights"]).toEqual([height]);
    expect(withPut(found, put)).toEqual(found);
  });

  it("writes the soil's texture beside what else is said of it", () => {
    const found = withPut(YARD, { words: "clay as the soil", heights: [], replaced: [], texture: "clay" });
    expect(found["soil"]).toEqual({ texture: "clay", capillary_rise: 0 });
    expect(found["spot_heights"]).toBe(YARD.spot_heights);
  });
});
