import { expect, test } from "vitest";
import { fields, firstNight, week, type Programme } from "./programme.ts";

const made = {
  months: [
    { month: 7, dates: ["2027-07-29", "2027-07-31"] },
    { month: 8, dates: ["2027-08-02"] },
  ],
  clock: {
    programs: [
      {
        name: "A",
        starts: ["03:50", "05:00"],
        night: 0,
        stations: [
          { station: 1, zone: "Z1", minutes: { "7": 12, "8": 9 } },
          { station: 2, zone: "Z2", minutes: { "7": 8, "8": 6 } },
        ],
      },
      { name: "B", starts: ["02:00"], night: 1, stations: [{ station: 3, zone: "Z3", minutes: { "7": 30, "8": 0 } }] },
    ],
  },
} as unknown as Programme;

test("a week holds the nights of each program, by the month that a night belongs to", () => {
  const nights = week(made, "2027-07-29");
  expect(nights.map((one) => one.day)).toEqual(["Thu", "Fri", "Sat", "Sun", "Mon", "Tue", "Wed"]);
  expect(nights[0]!.runs.map((run) => [run.program, run.start, run.ends])).toEqual([
    ["A", "03:50", "04:10"],
    ["A", "05:00", "05:20"],
  ]);
  expect(nights[1]!.runs.map((run) => [run.program, run.stations])).toEqual([["B", "Z3 30 min"]]);
  expect(nights[4]!.runs[0]!.stations).toBe("Z1 9 min, Z2 6 min");
  expect(nights[5]!.runs).toEqual([]); // nothing to run in August
});

test("the first night is the next one, or the first of all", () => {
  expect(firstNight(made, "2027-07-30")).toBe("2027-07-31");
  expect(firstNight(made, "2028-01-01")).toBe("2027-07-29");
});

test("what is left empty is left out of the request", () => {
  expect(fields({ year: 2027, latitude: " " })).toEqual({ year: "2027" });
  expect(fields({ year: null, latitude: "47" })).toEqual({ latitude: "47" });
  expect(fields({ year: 2027, latitude: "" }, { kind: "sod", start: "" })).toEqual({ year: "2027", kind: "sod" });
});
