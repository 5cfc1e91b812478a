/** Areas with holes, as GeoJSON writes them, and keeping a point on one. */

import type { SitePoint } from "./points.ts";
import { contains, nearestOnRing, type Ring } from "./rings.ts";

/** One piece of ground: its outline, and the holes in it. */
export interface Piece {
  readonly outline: Ring;
  readonly holes: readonly Ring[];
}

/** A GeoJSON geometry as it comes over the wire. */
export interface Geometry {
  readonly type?: unknown;
  readonly coordinates?: unknown;
  readonly geometries?: unknown;
}

/** Pieces of a polygon, several, or a collection of them; other geometries have none. */
export function piecesOf(geometry: Geometry): readonly Piece[] {
  if (geometry.type === "Polygon") return pieceOf(geometry.coordinates);
  if (geometry.type === "MultiPolygon") return (geometry.coordinates as unknown[]).flatMap(pieceOf);
  if (geometry.type === "GeometryCollection") return (geometry.geometries as Geometry[]).flatMap(piecesOf);
  return [];
}

function pieceOf(coordinates: unknown): Piece[] {
  const [outline, ...holes] = (coordinates as SitePoint[][]).map((ring) => ring.slice(0, -1));
  return outline ? [{ outline, holes }] : [];
}

/** Whether a point lies on one of the pieces and in none of its holes. */
export function covers(pieces: readonly Piece[], at: SitePoint): boolean {
  return pieces.some(({ outline, holes }) => contains(outline, at) && !holes.some((hole) => contains(hole, at)));
}

/** The point itself when the pieces cover it, else the nearest place on their edges. */
export function keptOn(pieces: readonly Piece[], at: SitePoint): SitePoint {
  if (covers(pieces, at)) return at;
  let best: SitePoint = at;
  let least = Infinity;
  for (const ring of ringsOf(pieces)) {
    const near = nearestOnRing(ring, at);
    if (near && near.distance < least) [best, least] = [near.at, near.distance];
  }
  return best;
}

/** All rings of pieces, outlines and holes. */
export function ringsOf(pieces: readonly Piece[]): Ring[] {
  return pieces.flatMap(({ outline, holes }) => [outline, ...holes]);
}
