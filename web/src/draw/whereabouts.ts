/** Where on the plan the things stand that a finding may name. */

import type { Piece } from "../geometry/areas.ts";
import type { SitePoint } from "../geometry/points.ts";
import { extentOf, type Extent } from "../geometry/view.ts";

export interface Placed {
  readonly heads: readonly { readonly id: string; readonly at: SitePoint }[];
  readonly zones: readonly { readonly id: string; readonly heads: readonly string[] }[];
  readonly places: readonly { readonly id: string; readonly at: SitePoint }[];
  readonly pipes: readonly { readonly id: string; readonly path: readonly SitePoint[] }[];
  readonly trenches: readonly { readonly id: string; readonly path: readonly SitePoint[] }[];
  readonly nodes: readonly { readonly id: string; readonly at: SitePoint }[];
}

/** What of the plan a name points at, and the extent it takes; null for what has no place, such as the wind. */
export interface Whereabouts {
  readonly kind: "head" | "zone" | "place" | "pipe" | "trench" | "lawn" | "node" | "entry";
  readonly id: string;
  readonly extent: Extent;
}

export function whereIs(
  name: string,
  plan: Placed,
  lawns: ReadonlyMap<string, readonly Piece[]>,
  entry: SitePoint,
): Whereabouts | null {
  const found = (kind: Whereabouts["kind"], points: readonly SitePoint[]): Whereabouts | null => {
    const extent = extentOf(points);
    return extent && { kind, id: name, extent };
  };
  const head = plan.heads.find((one) => one.id === name);
  if (head) return found("head", [head.at]);
  const zone = plan.zones.find((one) => one.id === name);
  if (zone) {
    const own = plan.heads.filter((one) => zone.heads.includes(one.id));
    return found(
      "zone",
      own.map((one) => one.at),
    );
  }
  const place = plan.places.find((one) => one.id === name);
  if (place) return found("place", [place.at]);
  const pipe = plan.pipes.find((one) => one.id === name);
  if (pipe) return found("pipe", pipe.path);
  const trench = plan.trenches.find((one) => one.id === name);
  if (trench) return found("trench", trench.path);
  const lawn = lawns.get(name);
  if (lawn)
    return found(
      "lawn",
      lawn.flatMap((piece) => piece.outline),
    );
  const node = plan.nodes.find((one) => one.id === name);
  if (node) return found("node", [node.at]);
  return ["supply", "entry", "source", "water entry"].includes(name) ? found("entry", [entry]) : null;
}
