import { describe, expect, test } from "vitest";
import { addArea, freeId, moveItem, remove, restack, setRing } from "./edits.ts";
import { pathOf, pointerOf, same, valueAt, withValue, type JsonObject } from "./json.ts";
import { readDrawable } from "./reading.ts";
import { typedValue, YardSchema } from "./schema.ts";
import { documentText } from "./text.ts";

const YARD: JsonObject = {
  units: "US",
  areas: [
    {
      id: "lawn",
      kind: "lawn",
      outline: [
        [0, 0],
        ["72 ft 6 in", 0],
        [72.5, 40],
      ],
      holes: [
        [
          [1, 1],
          [2, 1],
          [2, 2],
        ],
      ],
    },
    {
      id: "house",
      kind: "building",
      outline: [
        [10, 10],
        [20, 10],
        [20, 20],
      ],
    },
    { kind: "lawn" },
  ],
  water_entry: { at: [1, 2] },
};

describe("json", () => {
  test("values by path, without changing the document", () => {
    const made = withValue(YARD, ["areas", 1, "id"], "home") as JsonObject;
    expect(valueAt(made, ["areas", 1, "id"])).toBe("home");
    expect(valueAt(YARD, ["areas", 1, "id"])).toBe("house");
    expect(valueAt(withValue(YARD, ["areas", 0], undefined), ["areas", 0, "id"])).toBe("house");
    expect(withValue({}, ["a", "b", 0], 3)).toEqual({ a: { b: [3] } });
  });
  test("what says the same", () => {
    expect(same({ a: [1, { b: null }], c: 2 }, { c: 2, a: [1, { b: null }] })).toBe(true);
    for (const [one, two] of [
      [{ a: 1 }, { a: 1, b: 1 }],
      [{ a: 1 }, { b: 1 }],
      [[1, 2], [1]],
      [[], {}],
      [null, {}],
      [1, true],
    ] as const) {
      expect(same(one, two)).toBe(false);
      expect(same(two, one)).toBe(false);
    }
  });
  test("pointers and paths", () => {
    expect(pathOf("/areas/2/a~1b")).toEqual(["areas", 2, "a/b"]);
    expect(pointerOf(["areas", 2, "a/b"])).toBe("/areas/2/a~1b");
  });
  test("text keeps the whole document, points on one line", () => {
    expect(JSON.parse(documentText(YARD))).toEqual(YARD);
    expect(documentText(YARD)).toContain('["72 ft 6 in", 0]');
  });
});

describe("edits", () => {
  test("what can be read is drawn, what cannot is left out", () => {
    const drawn = readDrawable(YARD);
    expect(drawn.areas.map((area) => area.id)).toEqual(["lawn", "house"]);
    expect(drawn.areas[0]!.outline[1]![0]).toBeCloseTo(22.098, 9);
    expect(drawn.points.map((point) => point.kind)).toEqual(["water entry"]);
  });
  test("corners that did not move keep what stands in the file", () => {
    const area = readDrawable(YARD).areas[0]!;
    const made = setRing(YARD, area.path, null, [...area.outline.slice(0, 2), [20, 13]]);
    expect(valueAt(made, ["areas", 0, "outline"])).toEqual([
      [0, 0],
      ["72 ft 6 in", 0],
      [65.617, 42.651],
    ]);
  });
  test("names are free", () => {
    expect(freeId(YARD, "bed")).toBe("bed");
    expect(freeId(YARD, "lawn")).toBe("lawn 2");
    expect(
      addArea(YARD, "lawn", [
        [0, 0],
        [1, 0],
        [1, 1],
      ])[1],
    ).toEqual(["areas", 3]);
  });
  test("an area moves with its holes; it is laid higher; it goes", () => {
    const moved = moveItem(YARD, ["areas", 0], [0.3048, 0]);
    expect(valueAt(moved, ["areas", 0, "holes", 0, 0])).toEqual([2, 1]);
    expect(valueAt(restack(YARD, ["areas", 0], 1)[0], ["areas", 0, "id"])).toBe("house");
    expect(valueAt(remove(YARD, ["areas", 0]), ["areas", 0, "id"])).toBe("house");
  });
});

describe("schema", () => {
  const length = {
    anyOf: [{ type: "number" }, { type: "string" }],
    description: "number in ft (US) or m (metric), or text with a unit",
  };
  const schema = new YardSchema(
    {
      $defs: { Gauge: { properties: { kind: { const: "gauge" }, height: { anyOf: [length, { type: "null" }] } } } },
      properties: {
        units: { enum: ["US", "metric"] },
        outline: { type: "array", items: { type: "array", prefixItems: [length, length] } },
        supply: { type: "array", items: { oneOf: [{ $ref: "#/$defs/Gauge" }] } },
        dry: { type: "boolean" },
      },
      required: ["units"],
    },
    [{ us: { name: "ft", factor: 0.3048, offset: 0 }, metric: { name: "m", factor: 1, offset: 0 } }],
  );
  test("fields by kind", () => {
    expect(schema.fields(schema.root).map((field) => [field.key, field.kind, field.required])).toEqual([
      ["units", "choice", true],
      ["outline", "points", false],
      ["supply", "list", false],
      ["dry", "yes or no", false],
    ]);
  });
  test("units are counted over, texts and what is not known stay", () => {
    const made = schema.inUnits(
      { units: "US", outline: [[10, "3 m"]], supply: [{ kind: "gauge", height: 1 }], own: 5 },
      "metric",
    );
    expect(made).toEqual({
      units: "metric",
      outline: [[3.048, "3 m"]],
      supply: [{ kind: "gauge", height: 0.3048 }],
      own: 5,
    });
  });
  test("what is typed", () => {
    expect([typedValue("4.50"), typedValue(" 4 bar "), typedValue(" ")]).toEqual([4.5, "4 bar", undefined]);
  });
});
