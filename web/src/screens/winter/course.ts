/** A zone's blow-out as two lines over the time of air: water left, and pressure in the line. */

export interface Course {
  readonly zone: string;
  readonly time: readonly number[];
  readonly line: readonly number[];
  readonly left: readonly number[];
}

export interface Lines {
  readonly left: string; // points of a polyline
  readonly pressure: string;
  readonly seconds: number;
  readonly water: number; // [m³] at the top of the chart
  readonly highest: number; // [Pa] at the top
}

/** Lay a course into a box of a width and a height, from its foot up. */
export function lines(course: Course, volume: number, width: number, height: number): Lines {
  const seconds = Math.max(course.time.at(-1) ?? 0, 1);
  const highest = Math.max(...course.line, 1);
  const water = Math.max(volume, ...course.left, 1e-6);
  const points = (values: readonly number[], most: number) =>
    values
      .map((value, at) => {
        const x = ((course.time[at] ?? 0) / seconds) * width;
        return `${x.toFixed(1)},${(height - (value / most) * height).toFixed(1)}`;
      })
      .join(" ");
  return { left: points(course.left, water), pressure: points(course.line, highest), seconds, water, highest };
}
