/** The field log as a person reads it: the first value of each entry, what put it right, and what still waits. */

import type { Schemas } from "../api/client.ts";
import { show } from "../geometry/units.ts";
import { millilitres } from "./readings.ts";
import { showLength, type System } from "../geometry/lengths.ts";
import type { Kept } from "./outbox.ts";

export type Entry = Schemas["Entry"];

export interface Row {
  readonly first: Entry;
  readonly corrections: readonly Entry[]; // in order; the last counts
  readonly now: Entry | null; // what counts; null when withdrawn
  readonly waiting: boolean; // something of it has not arrived yet
  readonly refused: string; // why something of it was not taken
}

/** Rows, newest first, from what the program has and what lies on the shelf. */
export function rows(stored: readonly Schemas["StoredEntry"][], kept: readonly Kept[], yard: string): Row[] {
  const here = new Set(stored.map((one) => one.entry.id));
  const waiting = kept.flatMap(({ item, refused }) =>
    item.kind === "entry" && item.yard === yard && !here.has(item.entry.id) ? [{ entry: item.entry, refused }] : [],
  );
  const all = [...stored.map((one) => ({ entry: one.entry, refused: undefined, sent: true })), ...waiting];
  const firsts = all.filter(({ entry }) => !entry.corrects);
  return firsts
    .map((first) => {
      const after = all.filter(({ entry }) => entry.corrects === first.entry.id);
      const counting = after.filter((one) => one.refused === undefined);
      const last = counting.at(-1)?.entry ?? first.entry;
      const parts = [first, ...after];
      return {
        first: first.entry,
        corrections: counting.map((one) => one.entry),
        now: last.withdraws ? null : last,
        waiting: parts.some((one) => !("sent" in one) && one.refused === undefined),
        refused: parts.find((one) => one.refused !== undefined)?.refused ?? "",
      };
    })
    .sort((a, b) => Date.parse(whenOf(b)) - Date.parse(whenOf(a)));
}

/** When it was so, which may not be when it was written. */
export function whenOf(row: Pick<Row, "first" | "corrections">): string {
  const said = [row.first, ...row.corrections].map((entry) => entry.when).filter((when) => when != null);
  return said.at(-1) ?? row.first.made;
}

export function kindOf(entry: Entry): string {
  return entry.what.kind === "supply test" ? entry.what.measurement.kind : entry.what.kind;
}

/** What an entry says, in a line. Numbers of the program are SI; what waits is still as it was typed. */
export function says(entry: Entry, system: System): string {
  const read = (value: number | string | null | undefined, dimension: Parameters<typeof show>[1]) =>
    typeof value === "number" ? show(value, dimension, system) : (value ?? "");
  const { what } = entry;
  if (what.kind === "note") return entry.words;
  if (what.kind === "tick") return `${what.item}: ${what.done === false ? "not done" : "done"}`;
  if (what.kind === "head pressure")
    return `${read(what.pressure, "pressure")} at ${what.head}${what.by === "pitot" ? ", by pitot" : ""}`;
  if (what.kind === "catch cups") {
    const depths = what.cups
      .map((cup) => (cup.volume == null ? read(cup.depth, "depth") : millilitres(cup.volume)))
      .join(", ");
    const errors = [
      ...(what.depth_error == null ? [] : [read(what.depth_error, "bore")]),
      ...(what.read_error == null ? [] : [millilitres(what.read_error)]),
    ];
    const each = errors.length > 0 ? `, each to ${errors.join(" or ")}` : "";
    return `${what.zone}, ran ${read(what.ran, "time")}: ${depths}${each}`;
  }
  if (what.kind === "head look") return `${what.head}: ${what.seen}`;
  if (what.kind === "zone walk") return `${what.zone}: ${what.seen}${what.head ? ` at ${what.head}` : ""}`;
  if (what.kind === "zone flow") return `${what.zone}: ${read(what.volume, "volume")} in ${read(what.seconds, "time")}`;
  if (what.kind === "zone start" || what.kind === "valve setting") {
    const gauges = (what.pressures ?? []).map((one) => `${read(one.pressure, "pressure")} at ${one.at}`);
    const flow = what.flow ? [read(what.flow, "flow")] : [];
    const turns = what.kind === "valve setting" ? [`${what.turns} turns in`] : [];
    return `${what.zone}: ${[...turns, ...flow, ...gauges].join(", ")}`;
  }
  if (what.kind === "pipe buried") return `${what.pipe}: ${read(what.depth, "depth")} to its top`;
  if (what.kind === "part fitted")
    return what.part + " " + what.name + (what.depth == null ? "" : `: ${read(what.depth, "depth")} deep`);
  if (what.kind === "leak watch") {
    const looks = what.readings.map((one) => `${read(one.pressure, "pressure")} after ${read(one.after, "time")}`);
    return `${what.closed_in.join(", ")}: ${looks.join(", ")}`;
  }
  if (what.kind === "parts bought" || what.kind === "parts returned") {
    const parts = (what.parts ?? []).map((part) => {
      const amount = part.length == null ? part.pieces : read(part.length, "height");
      return `${amount ?? ""} ${part.part} at ${part.price}`.trim();
    });
    return (what.kind === "parts bought" && what.whole_list ? ["the whole parts list", ...parts] : parts).join(", ");
  }
  if (what.kind === "money paid") return `${what.of}: ${what.amount}${what.back ? " came back" : ""}`;
  if (what.kind === "repair") return `${what.of}: ${what.done}`;
  if (what.kind === "water used") return `${read(what.volume, "season volume")} from ${what.since} to ${what.until}`;
  if (what.kind === "winter work") return what.zone ? `${what.zone}: ${what.done}` : what.done;
  if (what.kind === "soil intake") {
    const last = what.readings.at(-1);
    return last
      ? `${read(last.soaked, "depth")} in ${read(last.after, "time")}, ring ${read(what.ring, "bore")} wide`
      : "";
  }
  if (what.kind === "spot height") {
    const place = what.place.map((one) => read(one as number | string, "height")).join(", ");
    return `${read(what.height, "height")} at ${place}`;
  }
  if (what.kind === "meter pair") {
    const ran = !what.running || what.running === "nothing" ? "nothing ran" : `${what.running} ran`;
    const { before, after } = what;
    const through =
      typeof before === "number" && typeof after === "number"
        ? read(after - before, "volume")
        : `from ${read(before, "volume")} to ${read(after, "volume")}`;
    return `${ran}: ${through} in ${read(what.seconds, "time")}`;
  }
  if (what.kind === "trench") return `${what.trenches.join(", ")}: ${what.state}`;
  const { measurement: given } = what;
  if (given.kind === "static gauge") return `${read(given.pressure, "pressure")}, nothing running`;
  if (given.kind === "gauge at a flow") return `${read(given.pressure, "pressure")} at ${read(given.flow, "flow")}`;
  if (given.kind === "meter reading") return `${read(given.volume, "volume")} in ${read(given.seconds, "time")}`;
  const delay = given.start_delay ? `, ${read(given.start_delay, "time")} of it before water came` : "";
  return `${read(given.volume, "volume")} in ${given.seconds.map((one) => read(one, "time")).join(", ")}${delay}`;
}

/** Where an entry was made, on the plan. */
export function placeOf(entry: Entry, system: System): string {
  if (!entry.at) return "";
  const [x, y] = entry.at;
  return typeof x === "number" && typeof y === "number" ? `${showLength(x, system)}, ${showLength(y, system)}` : "";
}
