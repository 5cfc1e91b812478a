import { describe, expect, it } from "vitest";
import type { JsonObject } from "./json.ts";
import { YardSchema } from "./schema.ts";

// A schema as the program writes it: quantities tell their units in the description.
const quantity = (us: string, metric: string) => ({
  anyOf: [{ type: "number" }, { type: "string" }],
  description: `number in ${us} (US) or ${metric} (metric), or text with a unit`,
});
const unit = (name: string, factor: number, offset = 0) => ({ name, factor, offset });
const UNITS = [
  { us: unit("psi", 6894.757), metric: unit("kPa", 1000) },
  { us: unit("s", 1), metric: unit("s", 1) },
  { us: unit("°F", 5 / 9, 255.372), metric: unit("°C", 1, 273.15) },
];
const LOOK = {
  type: "object",
  required: ["after", "pressure"],
  properties: {
    after: quantity("s", "s"),
    pressure: quantity("psi", "kPa"),
    water: { anyOf: [quantity("°F", "°C"), { type: "null" }], default: null },
  },
};
const WATCH: JsonObject = {
  type: "object",
  required: ["kind", "closed_in", "readings"],
  properties: {
    kind: { const: "leak watch", type: "string" },
    closed_in: { type: "array", items: { type: "string" }, minItems: 1 },
    readings: { type: "array", items: { $ref: "#/$defs/LeakReading" }, minItems: 2 },
  },
};
const facts = new YardSchema({ $defs: { LeakReading: LOOK } }, UNITS);

describe("an entry by its schema", () => {
  it("begins with as many things as it needs, and says what it lacks", () => {
    const begun = facts.begun(WATCH, {});
    expect(begun).toEqual({ readings: [{}, {}] });
    expect(facts.fields(WATCH).map((field) => field.kind)).toEqual(["fixed", "names", "list"]);
    expect(facts.lacks(WATCH, begun).map((one) => one.pointer)).toEqual([
      "/closed_in",
      "/readings/0/after",
      "/readings/0/pressure",
      "/readings/1/after",
      "/readings/1/pressure",
    ]);
    const odd = {
      closed_in: ["main"],
      readings: [
        { after: 0, pressure: "lots" },
        { after: "20 min", pressure: 56 },
      ],
    };
    expect(facts.lacks(WATCH, odd).map((one) => one.pointer)).toEqual(["/readings/0/pressure"]);
  });

  it("goes out with a unit at every bare number, and comes back as it would be typed", () => {
    const typed = { closed_in: ["main"], readings: [{ after: "20 min", pressure: 56, water: 59 }] };
    expect(facts.withUnits(typed, WATCH, "US")).toEqual({
      closed_in: ["main"],
      readings: [{ after: "20 min", pressure: "56 psi", water: "59 °F" }],
    });
    const kept = {
      readings: [
        { after: 1200, pressure: 386106.4, water: 288.15 },
        { after: 5, pressure: 1000, water: null },
      ],
    };
    expect(facts.asTyped(kept, WATCH, "US")).toEqual({
      readings: [
        { after: 1200, pressure: 56, water: 59.0004 },
        { after: 5, pressure: 0.145038 },
      ],
    });
  });
});
