/** Parts of a plan where they are used. */

import type { Schemas } from "../../api/client.ts";

type Placed = Schemas["PlacedPart"];
type Cutting = Schemas["PipeCutting"];

/** One place with its parts, as '2 x elbow PE 1 in'. */
export interface PartsAt {
  readonly where: string;
  readonly parts: readonly string[];
}

/** A piece of pipe: its length [m], and the stick or coil that it is cut from. */
export interface Piece {
  readonly length: number;
  readonly from: string; // as 'coil 2 of pipe PE 1 in'
}

/** The parts at some places, in the order asked for; places without parts are left out. */
export function partsAt(placed: readonly Placed[], places: readonly string[]): PartsAt[] {
  return places.flatMap((where) => {
    const counted = new Map<string, number>();
    for (const one of placed) {
      if (one.where === where) counted.set(one.part, (counted.get(one.part) ?? 0) + one.number);
    }
    const parts = [...counted].map(([part, number]) => (number === 1 ? part : `${number} x ${part}`));
    return parts.length > 0 ? [{ where, parts }] : [];
  });
}

/** The pieces that a run of pipe is laid in; a piece may serve several runs. */
export function piecesOf(cutting: readonly Cutting[], run: string): Piece[] {
  return cutting.flatMap(({ part, cuts }) =>
    cuts.flatMap(({ form, pieces }, number) =>
      pieces
        .filter((piece) => piece.where.split(", ").includes(run))
        .map(({ length }) => ({ length, from: `${form} ${number + 1} of ${part}` })),
    ),
  );
}
