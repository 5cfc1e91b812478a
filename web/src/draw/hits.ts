/** What of a plan lies under a press: heads first, then valve places, then pipes. */

import { distance, nearestOnSegment, type SitePoint } from "../geometry/points.ts";

interface Spot {
  readonly id: string;
  readonly at: SitePoint;
}

export interface Pressable {
  readonly heads: readonly Spot[];
  readonly places: readonly Spot[];
  readonly pipes: readonly { readonly id: string; readonly path: readonly SitePoint[] }[];
}

/** Id of the thing within so many metres; a pipe, which is thin and long, within half of that. */
export function thingAt(at: SitePoint, reach: number, { heads, places, pipes }: Pressable): string | null {
  const spot = (one: Spot) => distance(at, one.at);
  return (
    nearest(heads, spot, reach) ?? nearest(places, spot, reach) ?? nearest(pipes, (one) => off(at, one.path), reach / 2)
  );
}

function nearest<T extends { readonly id: string }>(
  things: readonly T[],
  away: (one: T) => number,
  reach: number,
): string | null {
  let [best, least]: [string | null, number] = [null, reach];
  for (const one of things) {
    const far = away(one);
    if (far <= least) [best, least] = [one.id, far];
  }
  return best;
}

function off(at: SitePoint, path: readonly SitePoint[]): number {
  return Math.min(...path.slice(1).map((to, i) => distance(at, nearestOnSegment(at, path[i]!, to))));
}
