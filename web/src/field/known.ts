/** Points of the yard that a tape can be held to. */

import type { Schemas } from "../api/client.ts";
import type { Drawable } from "../document/reading.ts";
import { distance, type SitePoint } from "../geometry/points.ts";

export interface Known {
  readonly words: string;
  readonly group: string;
  readonly at: SitePoint;
}

/** Corners of buildings, trees, water entry and controller; of a plan its valve places and heads. */
export function knownPoints(drawable: Drawable, plan: Schemas["Plan"] | null): Known[] {
  const corners = drawable.areas
    .filter((area) => area.kind === "building")
    .flatMap((area) =>
      area.outline.map((at, number) => ({
        words: `${area.id}, corner ${number + 1}`,
        group: "Corners of buildings",
        at,
      })),
    );
  const marks = drawable.points
    .filter((point) => point.kind !== "spot height")
    .map((point) => ({ words: point.id || point.kind, group: "Trees and water", at: point.at }));
  const places = (plan?.places ?? []).map((place) => ({
    words: `${place.id}, valves of ${place.zones.join(", ")}`,
    group: "Valve places",
    at: place.at as SitePoint,
  }));
  const heads = (plan?.heads ?? []).map((head) => ({ words: head.id, group: "Heads", at: head.at as SitePoint }));
  return [...corners, ...marks, ...places, ...heads];
}

export function nearestKnown(known: readonly Known[], to: SitePoint, reach = Infinity): Known | null {
  let best: Known | null = null;
  for (const one of known) {
    const away = distance(one.at, to);
    if (away <= reach && (!best || away < distance(best.at, to))) best = one;
  }
  return best;
}

/** Known points by what they are, in their order. */
export function grouped(known: readonly Known[]): [string, Known[]][] {
  const groups = new Map<string, Known[]>();
  for (const one of known) groups.set(one.group, [...(groups.get(one.group) ?? []), one]);
  return [...groups];
}
