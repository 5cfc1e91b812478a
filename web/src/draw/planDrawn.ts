/** What of a plan is drawn, and in which layers. */

import type { Schemas } from "../api/client.ts";
import type { SitePoint } from "../geometry/points.ts";

export interface Drawn {
  readonly heads: readonly Schemas["Head"][];
  readonly zones: readonly Schemas["Zone"][];
  readonly pipes: readonly Schemas["Pipe"][];
  readonly trenches: readonly Schemas["Trench"][];
  readonly places: readonly Schemas["ValvePlace"][];
  readonly nozzles: readonly Schemas["NozzleUsed"][];
  readonly entry: SitePoint;
  readonly controller: SitePoint | null;
}

export const LAYERS = ["water", "throws", "pipes", "trenches", "heads", "labels", "contours"] as const;
export type Layer = (typeof LAYERS)[number];
export type Layers = Readonly<Record<Layer, boolean>>;

/** Index of each head's zone; heads without one are missing. */
export function zoneOfHeads(zones: Drawn["zones"]): Map<string, number> {
  return new Map(zones.flatMap((zone, index) => zone.heads.map((head) => [head, index] as const)));
}
