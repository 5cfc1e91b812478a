import { describe, expect, it } from "vitest";
import { lines } from "./course.ts";

describe("the course of a blow-out", () => {
  it("falls from all of the water to what stays, over the time of air", () => {
    const course = { zone: "Z1", time: [0, 5, 10], line: [0, 2e5, 1e5], left: [0.02, 0.01, 0.005] };
    const found = lines(course, 0.02, 100, 50);
    expect(found.left).toBe("0.0,0.0 50.0,25.0 100.0,37.5");
    expect(found.pressure).toBe("0.0,50.0 50.0,0.0 100.0,25.0");
    expect(found).toMatchObject({ seconds: 10, water: 0.02, highest: 2e5 });
  });

  it("stands an empty course", () => {
    expect(lines({ zone: "Z1", time: [], line: [], left: [] }, 0, 100, 50)).toMatchObject({ left: "", seconds: 1 });
  });
});
