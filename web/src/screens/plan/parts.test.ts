import { describe, expect, it } from "vitest";
import { partsAt, piecesOf } from "./parts.ts";

const placed = [
  { part: "tee PE 1 in", where: "J1", why: "at branches of laterals", number: 1 },
  { part: "elbow PE 1 in", where: "J1", why: "at branches of laterals", number: 1 },
  { part: "elbow PE 1 in", where: "J1", why: "at bends along runs", number: 1 },
  { part: "valve box", where: "V1", why: "for the splices", number: 1 },
];
const cutting = [
  {
    part: "pipe PE 1 in",
    kerf: 0,
    bound: 30.48,
    status: "optimal" as const,
    cuts: [
      { form: "coil" as const, length: 30.48, left: 1, pieces: [{ length: 4, where: "A1, A2" }] },
      { form: "coil" as const, length: 30.48, left: 1, pieces: [{ length: 7, where: "A1" }] },
    ],
  },
];

describe("parts where they are used", () => {
  it("are counted by part, in the order of the places", () => {
    expect(partsAt(placed, ["V1", "J2", "J1"])).toEqual([
      { where: "V1", parts: ["valve box"] },
      { where: "J1", parts: ["tee PE 1 in", "2 x elbow PE 1 in"] },
    ]);
  });

  it("tell the stick or coil of every piece of a run", () => {
    expect(piecesOf(cutting, "A1")).toEqual([
      { length: 4, from: "coil 1 of pipe PE 1 in" },
      { length: 7, from: "coil 2 of pipe PE 1 in" },
    ]);
    expect(piecesOf(cutting, "A2")).toHaveLength(1);
  });
});
