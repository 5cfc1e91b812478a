import { describe, expect, it } from "vitest";
import { covers, keptOn, piecesOf, ringsOf } from "./areas.ts";
import { distance, type SitePoint } from "./points.ts";

const ring = (x: number, y: number, side: number): SitePoint[] => [
  [x, y],
  [x + side, y],
  [x + side, y + side],
  [x, y + side],
  [x, y],
];
const lawn = { type: "MultiPolygon", coordinates: [[ring(0, 0, 10), ring(4, 4, 2)], [ring(20, 0, 5)]] };

describe("areas", () => {
  const pieces = piecesOf(lawn);

  it("reads polygons, several, and collections, and leaves out what has no area", () => {
    expect(pieces.map((piece) => [piece.outline.length, piece.holes.length])).toEqual([
      [4, 1],
      [4, 0],
    ]);
    const mixed = { type: "GeometryCollection", geometries: [lawn, { type: "Point", coordinates: [0, 0] }] };
    expect(piecesOf(mixed)).toHaveLength(2);
    expect(piecesOf({ type: "Polygon", coordinates: [] })).toEqual([]);
    expect(ringsOf(pieces)).toHaveLength(3);
  });

  it("knows holes from ground", () => {
    expect([covers(pieces, [1, 1]), covers(pieces, [5, 5]), covers(pieces, [15, 1]), covers(pieces, [22, 2])]).toEqual([
      true,
      false,
      false,
      true,
    ]);
  });

  it("keeps a point on its lawn: itself inside, the nearest edge outside or in a hole", () => {
    expect(keptOn(pieces, [1, 1])).toEqual([1, 1]);
    expect(keptOn(pieces, [-3, 5])).toEqual([0, 5]);
    expect(keptOn(pieces, [4.2, 5])).toEqual([4, 5]);
    expect(keptOn(pieces, [19, 2])).toEqual([20, 2]);
    expect(keptOn([], [3, 3])).toEqual([3, 3]);
    const at: SitePoint = [13, 14];
    const kept = keptOn(pieces, at);
    const corners: SitePoint[] = [
      [10, 10],
      [20, 5],
    ];
    expect(distance(at, kept)).toBeCloseTo(Math.min(...corners.map((corner) => distance(at, corner))));
  });
});
