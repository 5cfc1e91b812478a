/** Two plans compared, in words and as marks: always the one plan instead of the other. */

import type { Schemas } from "../../api/client.ts";
import type { SitePoint } from "../../geometry/points.ts";

type Change = Schemas["HeadChange"];
type Figure = Schemas["Figure"];

/** What is marked on the drawing of one plan. */
export interface Marked {
  readonly tints: ReadonlyMap<string, string>; // class of each head that differs
  readonly moves: readonly (readonly [from: SitePoint, to: SitePoint])[];
  readonly ghosts: readonly SitePoint[]; // heads that only the other plan has
}

export const UNMARKED: Marked = { tints: new Map(), moves: [], ghosts: [] };
const TINTS: Readonly<Record<string, string>> = {
  added: "added",
  removed: "removed",
  moved: "moved",
  "set otherwise": "set",
};

/** The comparison the other way round. */
export function turned(found: Schemas["Comparison"]): Schemas["Comparison"] {
  return {
    figures: found.figures.map((one) => ({ ...one, before: one.after, after: one.before })),
    heads: turnedHeads(found.heads),
    zones: found.zones.map((one) => ({
      ...one,
      before: one.after,
      after: one.before,
      left: one.joined,
      joined: one.left,
    })),
    parts: found.parts.map((one) => ({ ...one, before: one.after, after: one.before, cost: -one.cost })),
    new: found.gone,
    gone: found.new,
  };
}

export function turnedHeads(changes: readonly Change[]): Change[] {
  const kinds: Readonly<Record<string, Change["kind"]>> = { added: "removed", removed: "added" };
  return changes.map((one) => ({ ...one, kind: kinds[one.kind] ?? one.kind, before: one.after, after: one.before }));
}

/** Marks for the drawings of the plan before and the plan after; `places` gives where each plan's heads stand. */
export function marksOf(
  changes: readonly Change[],
  places: readonly [before: ReadonlyMap<string, SitePoint>, after: ReadonlyMap<string, SitePoint>],
): readonly [before: Marked, after: Marked] {
  const at = (which: 0 | 1, id: string | null) => (id === null ? undefined : places[which].get(id));
  const moves = changes.flatMap(({ kind, before, after }) => {
    const [from, to] = [at(0, before), at(1, after)];
    return kind === "moved" && from && to ? [[from, to] as const] : [];
  });
  const one = (which: 0 | 1, own: "before" | "after", theirs: "before" | "after"): Marked => ({
    tints: new Map(changes.flatMap((one) => (one[own] && TINTS[one.kind] ? [[one[own], TINTS[one.kind]!]] : []))),
    moves,
    ghosts: changes.flatMap((one) => {
      const ghost = one[own] === null ? at(which === 0 ? 1 : 0, one[theirs]) : undefined;
      return ghost ? [ghost] : [];
    }),
  });
  return [one(0, "before", "after"), one(1, "after", "before")];
}

/** How one number differs, such as '2 fewer', '85 USD less', 'same'; empty when a plan has none. */
export function differenceTold({ before, after, dimension }: Figure, show: (value: number) => string): string {
  if (before === null || after === null) return "";
  const change = after - before;
  if (Math.abs(change) < 1e-12) return "same";
  const words = show(Math.abs(change));
  if (/^[0.,]*0(\D|$)/.test(words)) return "same"; // to as many digits as are shown
  return `${words} ${change > 0 ? "more" : dimension === "count" ? "fewer" : "less"}`;
}

const LED = ["heads", "zones", "cost"];

/** The change in one sentence, such as '2 heads fewer, 85 USD less'. */
export function changeTold(figures: readonly Figure[], show: (value: number, dimension: string) => string): string {
  const told = figures
    .filter((one) => LED.includes(one.name))
    .flatMap((one) => {
      const words = differenceTold(one, (value) => {
        const text = show(value, one.dimension);
        return one.dimension === "count" ? `${text} ${Number(text) === 1 ? one.name.slice(0, -1) : one.name}` : text;
      });
      return words && words !== "same" ? [words] : [];
    });
  return told.join(", ") || "as many heads and zones, at the same cost";
}
