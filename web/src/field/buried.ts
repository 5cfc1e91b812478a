/** What goes under ground and is written down before it is covered: parts at their place, pipes with their depth. */

import type { Schemas } from "../api/client.ts";

type Plan = Schemas["Plan"];
type Part = Schemas["PartFitted"]["part"];
type At = readonly [number | string, number | string];
type Errors = "depth_error" | "line_error" | "place_error"; // usual ones when left out
type LeftOut<T> = Omit<T, Errors> & Partial<T>;
export type Buried = LeftOut<Schemas["PipeBuried"]> | LeftOut<Schemas["PartFitted"]>;

const PARTING = ": "; // between a part and what it belongs to; ids hold no colon

export const PARTS: readonly Part[] = [
  ...(["valve", "splice", "valve box", "backflow device", "shut-off"] as const),
  ...(["tee", "cap", "drain", "sleeve end", "other"] as const),
];

/** What of a plan a part may belong to. */
export function ownersOf(plan: Plan | null, part: Part): string[] {
  const named = (things: readonly { readonly id: string }[] | undefined) => (things ?? []).map((one) => one.id);
  const [zones, places, pipes] = [named(plan?.zones), named(plan?.places), named(plan?.pipes)];
  const mains = named(plan?.pipes?.filter((pipe) => pipe.role === "main"));
  const sleeved = named(plan?.trenches?.filter((trench) => trench.sleeve));
  const OWNERS: Readonly<Record<Part, readonly string[]>> = {
    valve: zones,
    splice: [...places, ...mains],
    "valve box": places,
    "backflow device": ["entry", ...places],
    "shut-off": ["main", ...places],
    tee: pipes,
    cap: pipes,
    drain: ["main", ...pipes],
    "sleeve end": sleeved.length > 0 ? sleeved : named(plan?.trenches),
    other: ["entry", "main", ...places, ...zones, ...pipes, ...named(plan?.heads)],
  };
  return [...OWNERS[part]];
}

export function pipesOf(plan: Plan | null): string[] {
  return (plan?.pipes ?? []).map((pipe) => pipe.id);
}

/** A part and what it belongs to, as 'valve: Z1'. */
export function joined(part: string, name: string): string {
  return part + PARTING + name;
}

export function parted(subject: string): [part: Part | "", name: string] {
  const [part, name] = subject.split(PARTING);
  return [(part ?? "") as Part | "", name ?? ""];
}

/** A buried thing as it goes into the log; a part needs its place. */
export function buried(kind: Buried["kind"], subject: string, depth: string | undefined, at: At | null): Buried {
  if (kind === "pipe buried") return { kind, pipe: subject, depth: depth! };
  const [part, name] = parted(subject) as [Part, string];
  return { kind, part, name, place: [at![0], at![1]], ...(depth === undefined ? {} : { depth }) };
}

export function subjectOf(what: Buried): string {
  return what.kind === "pipe buried" ? what.pipe : joined(what.part, what.name);
}
