import { expect, test } from "vitest";
import { planName, planNumber, type Note } from "./naming.ts";

const plan = (id: string, made: string, more: Partial<Note> = {}): Note => ({
  ...{ id, made, status: "done", verdict: "fits", seed: 0, aim: "balanced", heads: 31, cost: 1590.92, currency: "USD" },
  ...more,
});
const ALL = [plan("b", "2026-05-01T10:00:31Z"), plan("a", "2026-05-01T10:00:02Z", { aim: "most even", heads: 51 })];

test("plans are numbered as they were made, also within one minute", () => {
  expect(ALL.map((one) => planNumber(one, ALL))).toEqual(["Plan 2", "Plan 1"]);
});

test("a name says what tells the plan from others", () => {
  expect(planName(ALL[0]!, ALL)).toBe("Plan 2: balanced, 31 heads, 1591 USD");
  expect(planName(ALL[1]!, ALL)).toBe("Plan 1: most even, 51 heads, 1591 USD");
  const bare = plan("c", "2026-05-02", {
    cost: null,
    heads: 1,
    seed: 2,
    verdict: "does not fit",
    status: "stopped early",
  });
  expect(planName(bare, [...ALL, bare])).toBe("Plan 3: balanced, 1 head, start 3, does not fit, stopped early");
});
