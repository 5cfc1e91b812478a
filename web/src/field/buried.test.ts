import { describe, expect, it } from "vitest";
import type { Schemas } from "../api/client.ts";
import { ownersOf, PARTS } from "./buried.ts";
import { make, retype, type Kind, type What } from "./readings.ts";

const NOTHING = { fields: {}, subject: "", cups: [] };
const HERE = [3.25, 4.5] as const;
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
    expect(ownersOf(plan, "valve")).toEqual(["Z1"]);
    expect(ownersOf(plan, "splice")).toEqual(["V1", "M1"]);
    expect(ownersOf(plan, "sleeve end")).toEqual(["T1"]);
    expect(ownersOf(plan, "tee")).toEqual(["M1", "Z1.1"]);
    expect(ownersOf(plan, "drain")).toEqual(["main", "M1", "Z1.1"]);
    for (const part of PARTS) expect(ownersOf(plan, part).length).toBeGreaterThan(0);
    expect(ownersOf(null, "tee")).toEqual([]);
  });

  it.each<[Kind, Partial<Parameters<typeof make>[1]>, object]>([
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
      { subject: "tee: Z1.1", place: ["3.25 m", "4.5 m"] },
      { kind: "part fitted", part: "tee", name: "Z1.1", place: ["3.25 m", "4.5 m"] },
    ],
  ])("becomes an entry: %s", (kind, given, what) => {
    expect(make(kind, { ...NOTHING, ...given }, "US").what).toEqual(what);
  });

  it("asks for what is missing: which one, where, how deep", () => {
    expect(Object.keys(make("part fitted", NOTHING, "US").faults!).sort()).toEqual(["place", "subject"]);
    expect(Object.keys(make("pipe buried", NOTHING, "US").faults!).sort()).toEqual(["depth", "subject"]);
  });

  it("asks what a part belongs to", () => {
    expect(make("part fitted", { ...NOTHING, subject: "drain: ", place: HERE }, "US").faults).toHaveProperty("subject");
  });

  it("comes back as it would be typed", () => {
    const what = { kind: "part fitted", part: "splice", name: "V1", place: [1, 2], depth: 0.3048 } as const;
    const again = retype(what as unknown as What, "US");
    expect(again).toMatchObject({ kind: "part fitted", subject: "splice: V1", fields: { depth: "12" } });
    const made = make("part fitted", { ...again, place: what.place }, "US");
    expect(made.what).toEqual({ ...what, depth: "12 in" });
  });
});
