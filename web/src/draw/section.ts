/** A long section as the lines of a chart: heights, and pressures as the height of water that they can lift. */

export interface SectionPoint {
  readonly distance: number; // [m]
  readonly ground: number; // [m]
  readonly pipe: number; // [m]
  readonly static: number; // [Pa]
  readonly working: number; // [Pa]
}

export interface SectionData {
  readonly weight: number; // [Pa/m]
  readonly points: readonly SectionPoint[];
}

/** One point in the yard's units. */
export interface SectionRow {
  readonly distance: number;
  readonly ground: number;
  readonly pipe: number;
  readonly static: number; // height of the line of static pressure
  readonly working: number; // height of the line of working pressure
  readonly point: SectionPoint; // SI
}

/** Value in the yard's unit of a dimension. */
export type Convert = (value: number, dimension: "length") => number;

export function sectionRows({ weight, points }: SectionData, to: Convert): SectionRow[] {
  return points.map((point) => ({
    distance: to(point.distance, "length"),
    ground: to(point.ground, "length"),
    pipe: to(point.pipe, "length"),
    static: to(point.pipe + point.static / weight, "length"),
    working: to(point.pipe + point.working / weight, "length"),
    point,
  }));
}

/** The row nearest to a distance along the way. */
export function rowAt(rows: readonly SectionRow[], distance: number): SectionRow | null {
  let best: SectionRow | null = null;
  for (const row of rows) {
    if (!best || Math.abs(row.distance - distance) <= Math.abs(best.distance - distance)) best = row;
  }
  return best;
}
