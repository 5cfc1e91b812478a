/** Handles at a head's throw: where its arc begins and ends, and how far it reaches. */

import { toward, type SitePoint } from "../geometry/points.ts";
import type { Throw } from "./throws.ts";

export type HandleKind = "start" | "end" | "radius";

export interface Handle {
  readonly kind: HandleKind;
  readonly at: SitePoint;
}

/** What a head's nozzle can be set to. */
export interface Able {
  readonly arcs: readonly number[]; // [°]; none: anything between the two
  readonly arc_low: number; // [°]
  readonly arc_high: number; // [°]
  readonly shorten: number; // largest share by which the radius may be turned down
}

export interface Turned {
  readonly arc_start?: number; // [°]
  readonly arc?: number; // [°]
  readonly radius_share?: number;
}

interface Set extends Throw {
  readonly radius_share: number;
}

const CLEAR = 1.04; // of the radius, where the ends of the arc stand off those of its neighbours

/** The handles of a head; a strip has none, and what a nozzle has no choice in is left out. */
export function handlesOf(head: Set, able: Able): Handle[] {
  if (head.arc <= 0) return [];
  const at = (kind: HandleKind, turn: number, reach = CLEAR): Handle => ({
    kind,
    at: toward(head.at, reach * head.radius, turn),
  });
  const sweeps = able.arcs.length > 1 || (able.arcs.length === 0 && able.arc_high > able.arc_low);
  return [
    at("start", head.arc_start),
    ...(sweeps ? [at("end", head.arc_start + Math.min(head.arc, 356))] : []),
    ...(able.shorten > 0 ? [at("radius", head.arc_start + head.arc / 2, 1)] : []),
  ];
}

/** How a head is set when one of its handles is drawn to a place: whole degrees, and what its nozzle can do. */
export function turned(kind: HandleKind, head: Set, able: Able, to: SitePoint): Turned {
  const [x, y] = [to[0] - head.at[0], to[1] - head.at[1]];
  const angle = Math.round((Math.atan2(y, x) * 180) / Math.PI);
  if (kind === "start") return { arc_start: around(angle) };
  if (kind === "end") return { arc: nearestArc(around(angle - head.arc_start) || 360, able) };
  const full = head.radius / head.radius_share;
  return { radius_share: within(Math.hypot(x, y) / full, 1 - able.shorten, 1) };
}

/** The arc that a nozzle can be set to nearest to one. */
export function nearestArc(arc: number, able: Able): number {
  if (able.arcs.length === 0) return within(Math.round(arc), able.arc_low, able.arc_high);
  return able.arcs.reduce((best, one) => (Math.abs(one - arc) < Math.abs(best - arc) ? one : best));
}

/** The next arc that a nozzle can be set to, wider or narrower by a step [°]. */
export function nextArc(arc: number, by: number, able: Able): number {
  if (able.arcs.length === 0) return within(arc + by, able.arc_low, able.arc_high);
  const sorted = [...able.arcs].sort((a, b) => a - b);
  return (by > 0 ? sorted.find((one) => one > arc) : sorted.filter((one) => one < arc).at(-1)) ?? arc;
}

function around(angle: number): number {
  return ((Math.round(angle) % 360) + 360) % 360;
}

function within(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}
