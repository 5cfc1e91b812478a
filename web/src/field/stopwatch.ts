/** A stopwatch for bucket fills: when the tap was opened, when water came, when it stood at the mark. */

export interface Fill {
  readonly delay: number; // [s] from the tap to the first water; 0 when it ran already
  readonly whole: number; // [s] on the clock, delay included
}

export type Running = { readonly opened: number; readonly water: number | null };

export interface Stopwatch {
  readonly running: Running | null; // times [ms] of a clock that never goes back
  readonly fills: readonly Fill[];
}

export const STOPPED: Stopwatch = { running: null, fills: [] };

/** Start with the opening of the tap, or with water that runs into the bucket already. */
export function start(watch: Stopwatch, now: number, from: "tap" | "water"): Stopwatch {
  return { ...watch, running: { opened: now, water: from === "water" ? now : null } };
}

/** Water has come. */
export function water(watch: Stopwatch, now: number): Stopwatch {
  if (!watch.running || watch.running.water !== null) return watch;
  return { ...watch, running: { ...watch.running, water: now } };
}

/** The water stands at the mark: one more fill. Before water came there is nothing to count. */
export function mark(watch: Stopwatch, now: number): Stopwatch {
  const { running, fills } = watch;
  if (!running || running.water === null) return watch;
  const fill = { delay: (running.water - running.opened) / 1000, whole: (now - running.opened) / 1000 };
  return { running: null, fills: [...fills, fill] };
}

/** Stop without counting. */
export function leave(watch: Stopwatch): Stopwatch {
  return { ...watch, running: null };
}

export function without(watch: Stopwatch, number: number): Stopwatch {
  return { ...watch, fills: watch.fills.filter((_, place) => place !== number) };
}

/**
 * Fills as the yard document has them: one start delay for all, so each time is that delay, the mean of those that
 * were taken, and the fill's own time from water to mark, which alone counts for the flow.
 */
export function asMeasured(fills: readonly Fill[]): { seconds: number[]; startDelay: number } {
  const startDelay = tenths(fills.reduce((sum, fill) => sum + fill.delay, 0) / Math.max(1, fills.length));
  return { seconds: fills.map((fill) => tenths(fill.whole - fill.delay + startDelay)), startDelay };
}

function tenths(seconds: number): number {
  return Math.round(seconds * 10) / 10;
}
