/** The four kinds of reading: what each is called, how it is taken, and how one is told in a line. */

import { isList, isObject, type Json } from "../../document/json.ts";

export interface ReadingKind {
  readonly kind: string; // in the yard's file
  readonly schema: string; // by the program's name
  readonly how: string;
  readonly main: readonly string[]; // facts that come first
}

export const READING_KINDS: readonly ReadingKind[] = [
  {
    kind: "static gauge",
    schema: "StaticGauge",
    how: "A gauge on a tap, nothing running in house or yard.",
    main: ["pressure", "height"],
  },
  {
    kind: "gauge at a flow",
    schema: "FlowingGauge",
    how: "A gauge on one tap while a known flow runs from another.",
    main: ["pressure", "flow", "height"],
  },
  {
    kind: "bucket fill",
    schema: "BucketFill",
    how: "The open pipe fills a bucket to its mark, three times or more. Write the whole time on the clock, and the delay before water came.",
    main: ["volume", "seconds", "start_delay", "outlet_height"],
  },
  {
    kind: "meter reading",
    schema: "MeterReading",
    how: "The water meter before and after a timed run.",
    main: ["volume", "seconds", "pressure", "height"],
  },
];

export function kindOf(reading: Json | undefined): ReadingKind | undefined {
  return isObject(reading) ? READING_KINDS.find((known) => known.kind === reading["kind"]) : undefined;
}

/** A reading's own figures in a line, such as 'pressure 57 psi, height 4 ft'. */
export function tell(reading: Json | undefined, unit: (key: string) => string): string {
  const kind = kindOf(reading);
  if (!kind || !isObject(reading)) return "";
  return kind.main
    .filter((key) => reading[key] !== undefined)
    .map((key) => {
      const value = reading[key];
      const text = isList(value) ? value.join(", ") : String(value);
      const bare = isList(value) ? value.every((one) => typeof one === "number") : typeof value === "number";
      return `${key.replaceAll("_", " ")} ${text}${bare ? ` ${unit(key)}` : ""}`;
    })
    .join("; ");
}
