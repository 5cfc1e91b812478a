import { describe, expect, it } from "vitest";
import type { Schemas } from "../api/client.ts";
import { evenness } from "./cups.ts";
import { kindOf, rows, says, type Entry } from "./log.ts";
import type { Kept } from "./outbox.ts";
import { make, retype, type Typed } from "./readings.ts";
import { countDone, itemsLeft, type Step } from "./steps.ts";
import { asDocument, inSupply } from "./supply_reading.ts";
import { asQuery } from "./terms.ts";

const NOTHING: Typed = { fields: {}, subject: "", cups: [] };
const entry = (id: string, words: string, more: Partial<Entry> = {}): Entry => ({
  id,
  made: `2026-05-01T08:00:0${id.length}Z`,
  what: { kind: "note" },
  words,
  withdraws: false,
  photos: [],
  confirmed: [],
  ...more,
});
const stored = (one: Entry, seq: number): Schemas["StoredEntry"] => ({
  seq,
  received: one.made,
  entry: one,
  corrected_by: [],
});
const kept = (one: Entry, refused?: string): Kept => ({
  number: 9,
  item: { kind: "entry", yard: "y", entry: one },
  refused,
});

describe("evenness of catch cups", () => {
  it("is the program's own measure: 6, 10, 12, 12 give 0.6 (a doctest of physics/evenness)", () => {
    expect(evenness([12, 6, 10, 12])).toEqual({ mean: 10, lowQuarter: expect.closeTo(0.6, 12) });
  });
  it("counts the part of a cup in which the quarter ends, and knows no water", () => {
    expect(evenness([1, 2, 3, 4, 5, 6])!.lowQuarter).toBeCloseTo((1 + 0.5 * 2) / 1.5 / 3.5, 12);
    expect(evenness([0, 0])).toBeNull();
    expect(evenness([])).toBeNull();
  });
});

describe("readings", () => {
  it("become an entry with the units that were meant", () => {
    const fields = { volume: "5", seconds: "15.2, 15.6 16", start_delay: "" };
    expect(make("bucket fill", { ...NOTHING, fields }, "US").what).toEqual({
      kind: "supply test",
      measurement: { kind: "bucket fill", volume: "5 gal", seconds: ["15.2 s", "15.6 s", "16 s"] },
    });
  });
  it("name each field that is wrong", () => {
    expect(make("head pressure", { ...NOTHING, fields: { pressure: "hard" } }, "US").faults).toEqual({
      pressure: expect.stringContaining("psi"),
      subject: expect.any(String),
    });
    const cups = [
      { at: [1, 2] as const, depth: "0" },
      { at: [1, 3] as const, depth: "" },
    ];
    const made = make("catch cups", { fields: { ran: "15 min" }, subject: "Z1", cups }, "metric");
    expect(Object.keys(made.faults!)).toEqual(["cup 1"]);
    const read = [{ at: [1, 2] as const, depth: "45 mL" }];
    const byVolume = make("catch cups", { fields: { ran: "15 min" }, subject: "Z1", cups: read }, "metric");
    expect(byVolume.what).toMatchObject({ cups: [{ at: [1, 2], volume: "45 mL" }] });
  });
  it("come back as they would be typed", () => {
    const what: Schemas["Entry"]["what"] = {
      kind: "head pressure",
      head: "H4",
      pressure: 310264.078,
      pressure_error: 14000,
      by: "gauge",
    };
    expect(retype(what, "US")).toEqual({ kind: "head pressure", fields: { pressure: "45" }, subject: "H4", cups: [] });
  });
});

describe("the log", () => {
  it("shows the last correction beside the first value, and a withdrawal", () => {
    const first = entry("a", "wrong");
    const log = rows(
      [
        stored(first, 1),
        stored(entry("bb", "better", { corrects: "a" }), 2),
        stored(entry("ccc", "right", { corrects: "a" }), 3),
      ],
      [],
      "y",
    );
    expect(log).toHaveLength(1);
    expect([log[0]!.first.words, log[0]!.now?.words, log[0]!.corrections.length]).toEqual(["wrong", "right", 2]);
    const gone = rows([stored(first, 1), stored(entry("d", "", { corrects: "a", withdraws: true }), 2)], [], "y");
    expect(gone[0]!.now).toBeNull();
  });
  it("holds what waits, once, and what was refused does not count", () => {
    const first = entry("a", "here");
    const log = rows(
      [stored(first, 1)],
      [kept(first), kept(entry("bb", "waits")), kept(entry("ccc", "no", { corrects: "a" }), "why not")],
      "y",
    );
    expect(log.map((row) => [row.now?.words, row.waiting, row.refused])).toEqual([
      ["waits", true, ""],
      ["here", false, "why not"],
    ]);
    expect(rows([], [kept(first)], "another yard")).toEqual([]);
  });
  it("says SI in the yard's units, and what waits as it was typed", () => {
    const what: Entry["what"] = { kind: "supply test", measurement: gauge, outlet: "", valve_open: 1 };
    expect(says(entry("a", "", { what }), "US")).toBe("45.0 psi, nothing running");
    const cups = { kind: "catch cups", zone: "Z1", ran: 900, mouth: 0.0762, cups: [{ at: [0, 0], depth: 0.01 }] };
    const known = { ...cups, depth_error: 1e-3, read_error: 2e-6 } as unknown as Entry["what"];
    expect(says(entry("b", "", { what: known }), "metric")).toBe("Z1, ran 900.0 s: 10.0 mm, each to 1.0 mm or 2 mL");
    expect(says(entry("b", "", { what: known }), "US")).toBe("Z1, ran 900.0 s: 0.39 in, each to 0.039 in or 2 mL");
    expect(kindOf(entry("a", "", { what }))).toBe("static gauge");
    const back = [
      { part: "tee", pieces: 3, price: 1.5 },
      { part: "pipe", length: 3.048, price: 2 },
    ];
    const returned = { kind: "parts returned", parts: back } as unknown as Entry["what"];
    expect(says(entry("c", "", { what: returned }), "US")).toBe("3 tee at 1.5, 10.0 ft pipe at 2");
  });
});

const gauge = { kind: "static gauge", pressure: 310264.078, height: null, pressure_error: 14000 } as const;

describe("a reading for the supply", () => {
  it("is written with its unit, without what is ordinary, and known again", () => {
    expect(asDocument(gauge, "US")).toEqual({ kind: "static gauge", pressure: "45 psi" });
    expect(asDocument({ ...gauge, pressure_error: 20000 }, "metric")).toEqual({
      kind: "static gauge",
      pressure: "310.264 kPa",
      pressure_error: "20 kPa",
    });
    const document = { supply: [{ pressure: "45 psi", kind: "static gauge" }] };
    expect(inSupply(document, asDocument(gauge, "US"))).toBe(true);
    expect(inSupply(document, asDocument({ ...gauge, pressure: 3e5 }, "US"))).toBe(false);
  });
});

describe("the steps of the work", () => {
  const step = (id: string, ...keys: string[]) =>
    ({ id, items: keys.map((key) => ({ key, words: key })) }) as unknown as Step;
  const steps = [step("layout", "a", "b"), step("locate", "c")];

  it("are counted by what can be ticked", () => {
    expect(countDone(steps, new Set(["a", "gone with an older plan"]))).toEqual({ done: 1, all: 3 });
    expect(itemsLeft(steps[0]!, new Set(["a"])).map((item) => item.key)).toEqual(["b"]);
  });
});

describe("the terms of the build", () => {
  it("become an address, with every day of the week that is worked on", () => {
    const terms = { start: "2027-05-08", days: ["Fri", "Sat"], hours: 6, crew: 1, digging: "hand" } as const;
    expect(asQuery({ ...terms, days: [...terms.days] })).toBe(
      "start=2027-05-08&days=Fri&days=Sat&hours=6&crew=1&digging=hand",
    );
  });
});
