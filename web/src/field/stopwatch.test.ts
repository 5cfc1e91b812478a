import { describe, expect, it } from "vitest";
import { asMeasured, leave, mark, start, STOPPED, water, without } from "./stopwatch.ts";

describe("the stopwatch", () => {
  it("takes the delay before water and the whole time on the clock", () => {
    const watch = mark(water(start(STOPPED, 1000, "tap"), 3500), 19_000);
    expect(watch).toEqual({ running: null, fills: [{ delay: 2.5, whole: 18 }] });
  });

  it("has no delay when water runs already", () => {
    expect(mark(start(STOPPED, 0, "water"), 15_200).fills).toEqual([{ delay: 0, whole: 15.2 }]);
  });

  it("counts nothing before water came, nor when left", () => {
    const opened = start(STOPPED, 0, "tap");
    expect(mark(opened, 5000)).toBe(opened);
    expect(leave(opened)).toEqual(STOPPED);
    expect(water(STOPPED, 5)).toBe(STOPPED);
  });

  it("puts fills as the yard has them: each less one delay is the time from water to mark", () => {
    const fills = [
      { delay: 2, whole: 17 },
      { delay: 3, whole: 18.4 },
    ];
    const { seconds, startDelay } = asMeasured(fills);
    expect(startDelay).toBe(2.5);
    expect(seconds.map((whole) => whole - startDelay)).toEqual([15, expect.closeTo(15.4, 9)]);
    expect(without({ running: null, fills }, 0).fills).toEqual([fills[1]]);
  });
});
