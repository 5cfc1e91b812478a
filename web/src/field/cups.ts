/** What catch cups say of the evenness of the water. */

/**
 * Mean depth, and the mean of the driest quarter of the cups as a share of it (distribution uniformity of the low
 * quarter); where a quarter ends inside a cup, that part of it counts. Source: USDA NRCS National Engineering
 * Handbook 623, chapter 11. Null without water.
 */
export function evenness(depths: readonly number[]): { mean: number; lowQuarter: number } | null {
  const mean = depths.reduce((sum, depth) => sum + depth, 0) / depths.length;
  if (!(mean > 0)) return null;
  const wanted = depths.length / 4;
  const ordered = [...depths].sort((a, b) => a - b);
  const whole = Math.floor(wanted);
  const driest = ordered.slice(0, whole).reduce((sum, depth) => sum + depth, 0) + (wanted - whole) * ordered[whole]!;
  return { mean, lowQuarter: driest / wanted / mean };
}
