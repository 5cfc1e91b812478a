import { describe, expect, it } from "vitest";
import type { SitePoint } from "../geometry/points.ts";
import { handlesOf, nearestArc, nextArc, turned } from "./handles.ts";

const head = { at: [2, 3] as SitePoint, arc_start: 90, arc: 180, radius: 4, radius_share: 0.8 };
const free = { arcs: [], arc_low: 40, arc_high: 360, shorten: 0.25 };
const cut = { arcs: [90, 180, 360], arc_low: 90, arc_high: 360, shorten: 0 };

describe("handles of a throw", () => {
  it("stand where the arc begins, where it ends and half way on it", () => {
    const found = handlesOf(head, free);
    expect(found.map((one) => one.kind)).toEqual(["start", "end", "radius"]);
    expect(found[0]!.at[0]).toBeCloseTo(2);
    expect(found[0]!.at[1]).toBeCloseTo(3 + 4.16);
    expect(found[1]!.at[1]).toBeCloseTo(3 - 4.16);
    expect(found[2]!.at[0]).toBeCloseTo(-2);
    expect(handlesOf({ ...head, arc: 0 }, free)).toEqual([]);
    expect(handlesOf(head, cut).map((one) => one.kind)).toEqual(["start", "end"]);
  });

  it("turn, widen and shorten a head as far as its nozzle can", () => {
    expect(turned("start", head, free, [2, -1])).toEqual({ arc_start: 270 });
    expect(turned("end", head, free, [6, 3])).toEqual({ arc: 270 });
    expect(turned("end", head, free, [2, 7.5])).toEqual({ arc: 360 });
    expect(turned("end", head, free, [1.9, 7.5])).toEqual({ arc: 40 });
    expect(turned("end", head, cut, [6, 3])).toEqual({ arc: 180 });
    expect(turned("radius", head, free, [-2.5, 3]).radius_share).toBeCloseTo(0.9);
    expect(turned("radius", head, free, [1, 3]).radius_share).toBeCloseTo(0.75);
    expect(turned("radius", head, free, [-20, 3]).radius_share).toBe(1);
  });

  it("take the next arc that there is", () => {
    expect(nearestArc(100, cut)).toBe(90);
    expect(nearestArc(12, free)).toBe(40);
    expect(nextArc(90, 5, cut)).toBe(180);
    expect(nextArc(90, -5, cut)).toBe(90);
    expect(nextArc(90, -5, free)).toBe(85);
  });
});
