/**
 * The work that a plan asks for, in the order in which it is done.
 *
 * A step is known by what it is and where it lies, not by its name in one plan: when the yard is planned again, what is
 * done stays ticked wherever the new plan asks for the same thing at the same place.
 */

import type { Schemas } from "../api/client.ts";
import { showLength, type System } from "../geometry/lengths.ts";
import { distance, type SitePoint } from "../geometry/points.ts";
import { show } from "../geometry/units.ts";
import { DIGGING, GLUE, TRADES, TRENCH, WATER } from "./cautions.ts";

type Plan = Schemas["Plan"];

export interface Step {
  readonly key: string;
  readonly words: string;
  readonly note?: string;
  readonly at?: SitePoint; // where on the plan
  readonly name?: string; // of what stands there, in this plan
}

export interface Stage {
  readonly title: string;
  readonly caution?: string;
  readonly steps: readonly Step[];
}

export function buildSteps(plan: Plan, system: System): Stage[] {
  if (!plan.heads?.length) return [];
  const zones = (plan.zones ?? []).map((zone) => zoneStage(plan, zone, system));
  return numbered([before(plan), digging(plan, system), supply(plan, system), ...zones, end(plan)]);
}

/** Stages in which no two steps have one key: of several like ones at one place, the later get a number. */
function numbered(stages: readonly Stage[]): Stage[] {
  const seen = new Map<string, number>();
  const own = (step: Step): Step => {
    const before = seen.get(step.key) ?? 0;
    seen.set(step.key, before + 1);
    return before === 0 ? step : { ...step, key: `${step.key} ${before + 1}` };
  };
  return stages.map((stage) => ({ ...stage, steps: stage.steps.map(own) }));
}

export function countDone(stages: readonly Stage[], done: ReadonlySet<string>): { done: number; all: number } {
  const steps = stages.flatMap((stage) => stage.steps);
  return { done: steps.filter((step) => done.has(step.key)).length, all: steps.length };
}

function before(plan: Plan): Stage {
  const steps = [
    { key: "located", words: "Buried services located and marked" },
    { key: "allowed", words: "Local office asked: permit, backflow protection, watering hours" },
    { key: "parts", words: `Parts in hand: ${plan.parts?.length ?? 0} lines of the parts list` },
    ...(plan.zones ?? []).map((zone) => ({
      key: `flags:${group(headsOf(plan, zone.heads).map(headKey))}`,
      words: `Flags at the ${zone.heads.length} heads of ${zone.id}`,
      note: "Find gives two distances for each head.",
    })),
  ];
  return { title: "Before digging", caution: DIGGING, steps };
}

function digging(plan: Plan, system: System): Stage {
  const from = plan.nodes?.[0]?.at;
  const order = [...(plan.trenches ?? [])].sort((a, b) => (from ? near(a.path, from) - near(b.path, from) : 0));
  const steps = order.map((trench) => ({
    key: `trench:${ends(trench.path)}`,
    words: `${trench.id}: ${showLength(trench.length, system)} through ${trench.surface}`,
    note: `${count(trench.pipes.length, "pipe")}: ${trench.pipes.join(", ")}${trench.sleeve ? "; in a sleeve" : ""}`,
    at: trench.path[Math.floor(trench.path.length / 2)] as SitePoint,
    name: trench.id,
  }));
  return { title: "Trenches", caution: TRENCH, steps };
}

function supply(plan: Plan, system: System): Stage {
  const places = (plan.places ?? []).map((place) => ({
    key: `place:${point(place.at)}`,
    words: `${place.id}: valves of ${place.zones.join(", ")}`,
    note:
      `${place.backflow}` +
      (place.device_height == null
        ? ""
        : `, its critical level ${showLength(place.device_height, system)} over the ground`),
    at: place.at as SitePoint,
    name: place.id,
  }));
  const steps = [
    { key: "joined", words: "Main joined to the house supply, with its own shut-off" },
    ...places,
    ...pipeSteps(plan, null, system),
    { key: "main-flushed", words: "Main flushed, then kept under pressure and looked over for leaks" },
  ];
  return { title: "Main and valves", caution: `${WATER} ${TRADES}`, steps };
}

function zoneStage(plan: Plan, zone: Schemas["Zone"], system: System): Stage {
  const heads = headsOf(plan, zone.heads);
  const own = group(heads.map(headKey));
  const worst = heads.find((head) => head.id === zone.worst_head);
  const expected = show(worst?.pressure ?? zone.pressure_low, "pressure", system);
  const steps = [
    ...pipeSteps(plan, zone.id, system),
    { key: `flushed:${own}`, words: `${zone.id} flushed before its heads go on` },
    ...heads.map((head) => ({
      key: headKey(head),
      words: `${head.id}: ${head.nozzle.startsWith(head.head_class) ? "" : `${head.head_class}, `}${head.nozzle}`,
      note: `arc ${Math.round(head.arc)}°, throw ${showLength(head.radius, system)}`,
      at: head.at as SitePoint,
      name: head.id,
    })),
    { key: `wired:${own}`, words: `Valve wired to station ${zone.station}` },
    {
      key: `read:${own}`,
      words: `Pressure read at ${zone.worst_head} while ${zone.id} runs`,
      note: `the plan expects ${expected} there`,
      ...(worst ? { at: worst.at as SitePoint, name: worst.id } : {}),
    },
    { key: `cups:${own}`, words: `Catch cups set out and read while ${zone.id} runs` },
  ];
  const glued = (plan.pipes ?? []).some((pipe) => pipe.zone === zone.id && pipe.material.startsWith("PVC"));
  return { title: `${zone.id}, station ${zone.station}`, ...(glued ? { caution: GLUE } : {}), steps };
}

function end(plan: Plan): Stage {
  const steps = [
    { key: "refilled", words: "Trenches filled in layers and trodden down" },
    { key: "controller", words: `Controller set: ${count(plan.zones?.length ?? 0, "station")}` },
    { key: "backflow-tested", words: "Backflow protection tested where local code asks for it" },
    { key: "drawn", words: "Shut-off, valves and drains shown to whoever lives here" },
  ];
  return { title: "To finish", steps };
}

function pipeSteps(plan: Plan, zone: string | null, system: System): Step[] {
  return (plan.pipes ?? [])
    .filter((pipe) => (zone === null ? pipe.role === "main" : pipe.zone === zone))
    .map((pipe) => ({
      key: `pipe:${pipe.size} ${pipe.material}:${ends(pipe.path)}`,
      words: `${pipe.id}: ${pipe.size} ${pipe.material}, ${showLength(pipe.length, system)}`,
      note: `${pipe.start} to ${pipe.end}`,
      at: pipe.path[Math.floor(pipe.path.length / 2)] as SitePoint,
      name: pipe.id,
    }));
}

function headsOf(plan: Plan, names: readonly string[]): Schemas["Head"][] {
  return (plan.heads ?? []).filter((head) => names.includes(head.id));
}

function headKey(head: Schemas["Head"]): string {
  return `head:${head.nozzle}:${point(head.at)}`.slice(0, 120);
}

/** Place to a decimetre, as near as a head is set. */
function point([x, y]: readonly [number, number] | number[]): string {
  return `${(x! + 0).toFixed(1)},${(y! + 0).toFixed(1)}`.replaceAll("-0.0", "0.0");
}

function ends(path: readonly (readonly number[])[]): string {
  return [point(path[0] as number[]), point(path.at(-1) as number[])].sort().join(" ");
}

function near(path: readonly (readonly number[])[], from: readonly number[]): number {
  return Math.min(...path.map((at) => distance(at as unknown as SitePoint, from as unknown as SitePoint)));
}

/** Short name of a set of keys, whatever their order: FNV-1a, 32 bits. */
function group(keys: readonly string[]): string {
  let hash = 0x811c9dc5;
  for (const letter of [...keys].sort().join("|")) hash = Math.imul(hash ^ letter.codePointAt(0)!, 0x01000193) >>> 0;
  return hash.toString(16).padStart(8, "0");
}

function count(number: number, what: string): string {
  return `${number} ${what}${number === 1 ? "" : "s"}`;
}
