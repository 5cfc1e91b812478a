import { describe, expect, it } from "vitest";
import { show, typed } from "./units.ts";

describe("units", () => {
  it("agree with the factors of NIST Special Publication 811, appendix B.8", () => {
    expect(typed("1 psi", "pressure", "metric")!.value).toBeCloseTo(6894.757, 3);
    expect(typed("1 gpm", "flow", "metric")!.value).toBeCloseTo(6.30902e-5, 11);
    expect(typed("1 gal", "volume", "metric")!.value).toBeCloseTo(3.785412e-3, 9);
    expect(typed("1 in", "depth", "metric")!.value).toBe(0.0254);
  });

  it("take a bare number in the yard's own unit and keep what was typed", () => {
    expect(typed("45", "pressure", "US")!.text).toBe("45 psi");
    expect(typed(" 3,1bar ", "pressure", "US")).toEqual({ text: "3.1 bar", value: 310000 });
    expect(typed("12.5", "depth", "metric")!.value).toBeCloseTo(0.0125, 12);
    expect(typed("1.5 m³/h", "flow", "metric")!.value).toBeCloseTo(1.5 / 3600, 12);
  });

  it("take depths, bores and heights in any unit of length, fractions too", () => {
    expect(typed("1.2 m", "depth", "US")).toEqual({ text: "1.2 m", value: 1.2 });
    expect(typed("1 ft 6 in", "depth", "metric")!.value).toBeCloseTo(0.4572, 12);
    expect(typed("3/4 in", "bore", "US")!.value).toBeCloseTo(0.01905, 12);
    expect(typed("-40 cm", "height", "US")!.text).toBe("-40 cm");
    expect(typed("3 psi", "depth", "US")).toBeNull();
  });

  it("refuse what is no such quantity", () => {
    for (const text of ["", "much", "45 gpm", "4 5", "1/2"]) expect(typed(text, "pressure", "US")).toBeNull();
  });

  it("read back", () => {
    expect(show(310264.078, "pressure", "US")).toBe("45.0 psi");
    expect(show(0.0006309, "flow", "US")).toBe("10.00 gpm");
    expect(show(123.46, "season volume", "metric")).toBe("123.5 m³");
    expect(show(-0.01, "season volume", "metric")).toBe("0.0 m³");
  });
});
