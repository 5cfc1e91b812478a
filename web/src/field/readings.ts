/** What can be measured in the yard: the fields of each kind, what was typed as an entry, and an entry as fields again. */

import type { Schemas } from "../api/client.ts";
import type { System } from "../geometry/lengths.ts";
import { asTyped, typed, unitName, type Dimension } from "../geometry/units.ts";
import { buried, parted, subjectOf } from "./buried.ts";

export type What = Schemas["Entry"]["what"];
export type Measurement = Schemas["SupplyTest"]["measurement"];
export type Kind = Measurement["kind"] | Exclude<What["kind"], "supply test" | "tick">; // ticks have a way of their own

/** The program's name of each kind, by which its schema makes its form. */
export const SCHEMAS: Record<Kind, string> = {
  "static gauge": "StaticGauge",
  "gauge at a flow": "FlowingGauge",
  "bucket fill": "BucketFill",
  "meter reading": "MeterReading",
  "head pressure": "HeadPressure",
  "catch cups": "CatchCups",
  "pipe buried": "PipeBuried",
  "part fitted": "PartFitted",
  note: "Note",
  "meter pair": "MeterPair",
  "leak watch": "LeakWatch",
  "zone start": "ZoneStart",
  "valve setting": "ValveSetting",
  "zone flow": "ZoneFlow",
  "zone walk": "ZoneWalk",
  "head look": "HeadLook",
  "soil intake": "SoilIntake",
  "spot height": "SpotLevel",
  "parts bought": "PartsBought",
  "parts returned": "PartsReturned",
  "money paid": "MoneyPaid",
  trench: "TrenchWork",
  repair: "Repair",
  "water used": "WaterUsed",
  "winter work": "WinterWork",
};

export interface Field {
  readonly key: string;
  readonly words: string;
  readonly dimension: Dimension;
  readonly optional?: boolean;
  readonly several?: boolean; // numbers with commas or blanks between
}

const HEIGHT: Field = { key: "height", words: "Height of the gauge", dimension: "height", optional: true };

/** Fields of the kinds that have a form of their own, with a stopwatch, cups on the plan, parts of the plan. */
export const FIELDS: Partial<Record<Kind, readonly Field[]>> = {
  "static gauge": [{ key: "pressure", words: "Pressure", dimension: "pressure" }, HEIGHT],
  "gauge at a flow": [
    { key: "pressure", words: "Pressure", dimension: "pressure" },
    { key: "flow", words: "Flow while it was read", dimension: "flow" },
    HEIGHT,
  ],
  "bucket fill": [
    { key: "volume", words: "Bucket, to its mark", dimension: "volume" },
    { key: "seconds", words: "Time on the clock, one for each fill", dimension: "time", several: true },
    { key: "start_delay", words: "Of it before water came", dimension: "time", optional: true },
    { key: "outlet_height", words: "Height of the outlet", dimension: "height", optional: true },
    { key: "outlet_bore", words: "Bore that it runs out of", dimension: "bore", optional: true },
  ],
  "meter reading": [
    { key: "volume", words: "Volume through the meter", dimension: "volume" },
    { key: "seconds", words: "In so long", dimension: "time" },
    { key: "pressure", words: "Pressure at the outlet, when not open", dimension: "pressure", optional: true },
  ],
  "head pressure": [{ key: "pressure", words: "Pressure", dimension: "pressure" }],
  "catch cups": [{ key: "ran", words: "The zone ran for", dimension: "time" }],
  "pipe buried": [{ key: "depth", words: "From the ground to the top of the pipe", dimension: "depth" }],
  "part fitted": [{ key: "depth", words: "Under the ground", dimension: "depth", optional: true }],
  note: [],
};

export const WORDS: Record<Kind, string> = {
  "static gauge": "Pressure, nothing running",
  "gauge at a flow": "Pressure at a known flow",
  "bucket fill": "Bucket fill",
  "meter reading": "Water meter",
  "head pressure": "Pressure at a head",
  "catch cups": "Catch cups",
  "pipe buried": "Pipe, before it is covered",
  "part fitted": "Valve, splice, tee, drain or other part, before it is covered",
  note: "Note or photo",
  "meter pair": "Water meter, before and after",
  "leak watch": "Leak watch",
  "zone flow": "Flow of a zone",
  "zone start": "Zone start-up",
  "valve setting": "Valve in turns",
  "head look": "Look at a head",
  "zone walk": "Walk along a zone",
  "soil intake": "Soil intake, by a ring",
  "spot height": "Height of the ground",
  "parts bought": "Parts bought",
  "parts returned": "Parts returned",
  "money paid": "Money paid",
  trench: "Trench, opened or closed",
  repair: "Repair",
  "water used": "Water used in a season",
  "winter work": "Winter work",
};

/** Kinds by what they are about, in the order of a list. */
export const KINDS: readonly (readonly [string, readonly Kind[]])[] = [
  ["Supply", ["static gauge", "gauge at a flow", "bucket fill", "meter reading", "meter pair"]],
  [
    "Zones and heads",
    ["zone start", "zone flow", "valve setting", "zone walk", "head look", "head pressure", "catch cups"],
  ],
  ["Pipes", ["leak watch", "pipe buried", "part fitted", "trench"]],
  ["Ground", ["spot height", "soil intake"]],
  ["Money", ["parts bought", "parts returned", "money paid"]],
  ["Years after", ["repair", "water used", "winter work"]],
  ["Else", ["note"]],
];

export interface Typed {
  readonly fields: Readonly<Record<string, string>>;
  readonly subject: string; // head, zone, pipe or part
  readonly cups: readonly { readonly at: readonly [number, number]; readonly depth: string }[];
  readonly place?: readonly [number | string, number | string] | null; // of a part
}

const WHICH: Partial<Record<Kind, string>> = {
  "head pressure": "Which head?",
  "catch cups": "Which zone ran?",
  "pipe buried": "Which pipe?",
  "part fitted": "Which part?",
};

export type Made =
  | { readonly what: What; readonly faults?: undefined }
  | { readonly what?: undefined; readonly faults: Readonly<Record<string, string>> };

/** What was typed, as it goes into the log; or what is wrong, field by field. */
export function make(kind: Kind, given: Typed, system: System): Made {
  const faults: Record<string, string> = {};
  const values: Record<string, string | string[]> = {};
  for (const field of FIELDS[kind] ?? []) {
    const text = (given.fields[field.key] ?? "").trim();
    if (!text && field.optional) continue;
    const parts = (field.several ? text.split(/[;\s]+|,\s+/).filter(Boolean) : [text]).map((one) =>
      typed(one, field.dimension, system),
    );
    if (parts.length === 0 || parts.some((one) => one === null)) faults[field.key] = wanted(field, system);
    else values[field.key] = field.several ? parts.map((one) => one!.text) : parts[0]!.text;
  }
  const [part, name] = kind === "part fitted" ? parted(given.subject) : [given.subject, given.subject];
  if (WHICH[kind] && !(part && name)) faults["subject"] = part ? "Of what? Choose what it belongs to." : WHICH[kind];
  if (kind === "part fitted" && !given.place)
    faults["place"] = "The record needs its place: find it, or write how far across and up it is.";
  const cups = kind === "catch cups" ? cupsOf(given, system, faults) : [];
  return Object.keys(faults).length > 0 ? { faults } : { what: whatOf(kind, values, given, cups) as What };
}

function wanted(field: Field, system: System): string {
  return `Write ${field.several ? "numbers" : "a number"} in ${unitName(field.dimension, system)}, or with another unit.`;
}

/** Cups as they go into the log: a depth, or a volume such as '45 mL', which needs the mouth of the cups. */
function cupsOf(given: Typed, system: System, faults: Record<string, string>) {
  if (given.cups.length === 0) faults["cups"] = "Set out at least one cup.";
  return given.cups.map((cup, number) => {
    const at = [...cup.at] as [number, number];
    const depth = typed(cup.depth, "depth", system);
    const volume = depth ? null : typed(cup.depth, "volume", system);
    if (volume && volume.value >= 0) return { at, volume: volume.value > 0 ? volume.text : 0 };
    if (!depth || depth.value < 0)
      faults[`cup ${number}`] =
        `Write a number, such as ${system === "US" ? "0.35 in" : "9 mm"} of depth or 45 mL poured.`;
    return { at, depth: depth && depth.value > 0 ? depth.text : 0 };
  });
}

function whatOf(
  kind: Kind,
  values: Record<string, string | string[]>,
  { subject, place }: Typed,
  cups: { at: [number, number]; depth?: string | number; volume?: string | number }[],
): object {
  if (kind === "note") return { kind };
  if (kind === "head pressure") return { kind, head: subject, pressure: values["pressure"] as string };
  if (kind === "catch cups") return { kind, zone: subject, ran: values["ran"] as string, cups };
  if (kind === "pipe buried" || kind === "part fitted")
    return buried(kind, subject, values["depth"] as string | undefined, place ?? null);
  return { kind: "supply test", measurement: { kind, ...values } };
}

/** An entry as it would be typed again, to be corrected. */
export function retype(what: What, system: System): { kind: Kind } & Typed {
  const kind = (what.kind === "supply test" ? what.measurement.kind : what.kind) as Kind;
  const source = (what.kind === "supply test" ? what.measurement : what) as Record<string, unknown>;
  const fields: Record<string, string> = {};
  for (const { key, dimension, optional } of FIELDS[kind] ?? []) {
    const value = source[key];
    if (value == null || (optional && value === 0)) continue;
    const parts = Array.isArray(value) ? (value as (number | string)[]) : [value as number | string];
    fields[key] = parts.map((one) => asTyped(one, dimension, system)).join(parts.length > 1 ? ", " : "");
  }
  const under = what.kind === "pipe buried" || what.kind === "part fitted" ? subjectOf(what) : "";
  const subject = what.kind === "head pressure" ? what.head : what.kind === "catch cups" ? what.zone : under;
  const cups =
    what.kind === "catch cups"
      ? what.cups.map((cup) => ({
          at: cup.at as unknown as [number, number],
          depth: cup.volume == null ? asTyped(cup.depth ?? 0, "depth", system) : millilitres(cup.volume),
        }))
      : [];
  return { kind, fields, subject, cups };
}

export function millilitres(volume: number | string): string {
  return typeof volume === "string" ? volume : `${Number((1e6 * volume).toPrecision(4))} mL`;
}
