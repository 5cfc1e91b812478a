/** What a head waters, as an SVG path in metres with y up: a sector of a circle, or a strip's rectangle. */

import { toward, type SitePoint } from "../geometry/points.ts";

export interface Throw {
  readonly at: SitePoint;
  readonly arc_start: number; // [°]
  readonly arc: number; // [°]; 0 for a strip
  readonly radius: number; // [m]
}

/** The nozzle's pattern and, of a strip, its width [m]. */
export interface Shape {
  readonly pattern: string;
  readonly width: number;
}

/** Path of a throw; a strip without a known nozzle has none. */
export function throwPath(head: Throw, nozzle: Shape | undefined): string {
  if (head.arc > 0) return sectorPath(head.at, head.radius, head.arc_start, head.arc);
  return nozzle ? stripPath(head.at, head.arc_start, head.radius, nozzle) : "";
}

export function sectorPath([x, y]: SitePoint, radius: number, start: number, arc: number): string {
  const r = round(radius);
  if (arc >= 360) return `M${round(x - radius)} ${round(y)}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`;
  const [from, to] = [toward([x, y], radius, start), toward([x, y], radius, start + arc)];
  const large = arc > 180 ? 1 : 0;
  // The plan's y is up, so that a counter-clockwise arc sweeps in SVG's positive direction.
  return `M${pair([x, y])}L${pair(from)}A${r} ${r} 0 ${large} 1 ${pair(to)}Z`;
}

/** How far a strip pattern reaches [m]: behind, ahead, right and left of its head, along the throw. */
export function stripReach({ pattern, width }: Shape, length: number): readonly [number, number, number, number] {
  const [behind, ahead] = pattern === "end strip" ? [0, length] : [length / 2, length / 2];
  const [right, left] = pattern === "side strip" ? [0, width] : [width / 2, width / 2];
  return [behind, ahead, right, left];
}

function stripPath(at: SitePoint, turn: number, length: number, nozzle: Shape): string {
  const [behind, ahead, right, left] = stripReach(nozzle, length);
  const corner = (along: number, across: number) => toward(toward(at, along, turn), across, turn + 90);
  const corners = [corner(-behind, -right), corner(ahead, -right), corner(ahead, left), corner(-behind, left)];
  return `M${corners.map(pair).join("L")}Z`;
}

function pair([x, y]: SitePoint): string {
  return `${round(x)} ${round(y)}`;
}

function round(value: number): number {
  return Math.round(value * 1000) / 1000;
}
