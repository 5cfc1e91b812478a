/** What goes under ground and is written down before it is covered: parts at their place, pipes with their depth. */

import type { Schemas } from "../api/client.ts";
import type { SitePoint } from "../geometry/points.ts";

type Plan = Schemas["Plan"];
export type Buried = Schemas["PipeBuried"] | Schemas["PartFitted"];

const PARTING = ": "; // between a part and what it belongs to; ids hold no colon

/** Parts that a plan puts in the ground, as 'valve: Z1'. */
export function partsOf(plan: Plan | null): string[] {
  const places = plan?.places ?? [];
  const of = (part: Schemas["PartFitted"]["part"], names: readonly string[]) =>
    names.map((name) => part + PARTING + name);
  const mains = (plan?.pipes ?? []).filter((pipe) => pipe.role === "main").map((pipe) => pipe.id);
  return [
    ...of(
      "valve",
      (plan?.zones ?? []).map((zone) => zone.id),
    ),
    ...of("splice", [...places.map((place) => place.id), ...mains]),
    ...of(
      "valve box",
      places.map((place) => place.id),
    ),
    ...of("backflow device", ["entry", ...places.map((place) => place.id)]),
    ...of("shut-off", ["main"]),
    ...of(
      "sleeve end",
      (plan?.trenches ?? []).filter((trench) => trench.sleeve).map((trench) => trench.id),
    ),
    ...of("cap", mains),
  ];
}

export function pipesOf(plan: Plan | null): string[] {
  return (plan?.pipes ?? []).map((pipe) => pipe.id);
}

/** A buried thing as it goes into the log; a part needs its place. */
export function buried(kind: Buried["kind"], subject: string, depth: string | undefined, at: SitePoint | null): Buried {
  if (kind === "pipe buried") return { kind, pipe: subject, depth: depth! };
  const [part, name] = subject.split(PARTING) as [Schemas["PartFitted"]["part"], string];
  return { kind, part, name, place: [at![0], at![1]], ...(depth === undefined ? {} : { depth }) };
}

export function subjectOf(what: Buried): string {
  return what.kind === "pipe buried" ? what.pipe : what.part + PARTING + what.name;
}
