import { describe, expect, it } from "vitest";
import type { Schemas } from "../api/client.ts";
import { partsOf } from "./buried.ts";
import type { SitePoint } from "../geometry/points.ts";
import { make, retype, type Kind, type What } from "./readings.ts";

const NOTHING = { fields: {}, subject: "", cups: [] };
const HERE = [3.25, 4.5] as unknown as SitePoint;
const plan = {
  zones: [{ id: "Z1" }],
  places: [{ id: "V1" }],
  trenches: [{ id: "T1", sleeve: true }],
  pipes: [
    { id: "M1", role: "main" },
    { id: "Z1.1", role: "lateral" },
  ],
} as unknown as Schemas["Plan"];

describe("what goes under ground", () => {
  it("is listed from the plan", () => {
    const parts = partsOf(plan);
    expect(parts).toContain("valve: Z1");
    expect(parts).toContain("splice: V1");
    expect(parts).toContain("sleeve end: T1");
    expect(partsOf(null)).toEqual(["backflow device: entry", "shut-off: main"]);
  });

  it.each<[Kind, Partial<Parameters<typeof make>[1]>, What]>([
    [
      "pipe buried",
      { subject: "Z1.1", fields: { depth: "12" } },
      { kind: "pipe buried", pipe: "Z1.1", depth: "12 in" },
    ],
    [
      "part fitted",
      { subject: "valve: Z1", fields: { depth: "200 mm" }, place: HERE },
      { kind: "part fitted", part: "valve", name: "Z1", place: [3.25, 4.5], depth: "200 mm" },
    ],
    [
      "part fitted",
      { subject: "valve: Z1", place: HERE },
      { kind: "part fitted", part: "valve", name: "Z1", place: [3.25, 4.5] },
    ],
  ])("becomes an entry: %s", (kind, given, what) => {
    expect(make(kind, { ...NOTHING, ...given }, "US").what).toEqual(what);
  });

  it("asks for what is missing: which one, where, how deep", () => {
    expect(Object.keys(make("part fitted", NOTHING, "US").faults!).sort()).toEqual(["place", "subject"]);
    expect(Object.keys(make("pipe buried", NOTHING, "US").faults!).sort()).toEqual(["depth", "subject"]);
  });

  it("comes back as it would be typed, with its place", () => {
    const what: What = { kind: "part fitted", part: "splice", name: "V1", place: [1, 2], depth: 0.3048 };
    const again = retype(what, "US");
    expect(again).toMatchObject({ kind: "part fitted", subject: "splice: V1", fields: { depth: "12" }, place: [1, 2] });
    expect(make("part fitted", again, "US").what).toEqual({ ...what, depth: "12 in" });
  });
});
