/** A reading of the log as a measurement of the yard's supply. */

import type { Schemas } from "../api/client.ts";
import { isList, type Json, type JsonObject } from "../document/json.ts";
import type { System } from "../geometry/lengths.ts";
import { asText, type Dimension } from "../geometry/units.ts";

type Measurement = Schemas["SupplyTest"]["measurement"];

const DIMENSIONS: Record<string, Dimension> = {
  pressure: "pressure",
  flow: "flow",
  volume: "volume",
  seconds: "time",
  start_delay: "time",
  height: "height",
  outlet_height: "height",
  outlet_bore: "bore",
  pressure_error: "pressure",
  start_delay_error: "time",
  time_error: "time",
};

/** The program's ordinary errors [SI], which need not be written out. */
const ORDINARY: Record<string, number> = {
  pressure_error: 14e3,
  start_delay_error: 0.5,
  time_error: 0.3,
  flow_error: 0.05,
};

/** Measurement as the yard document writes it, with units, so that it reads the same in either system. */
export function asDocument(given: Measurement, system: System): JsonObject {
  const found: Record<string, Json> = {};
  for (const [key, value] of Object.entries(given)) {
    const plain = value as Json;
    if (plain === null || plain === 0 || plain === ORDINARY[key]) continue;
    if (key === "volume_error" && plain === (given.kind === "bucket fill" ? 0.03 : 0.015)) continue;
    const dimension = DIMENSIONS[key];
    const text = (one: Json) => (dimension ? asText(one as number | string, dimension, system) : one);
    found[key] = isList(plain) ? plain.map(text) : text(plain);
  }
  return found;
}

export function inSupply(document: JsonObject, measurement: JsonObject): boolean {
  const here = document["supply"];
  const own = canonical(measurement);
  return isList(here) && here.some((one) => canonical(one) === own);
}

function canonical(value: Json): string {
  if (isList(value)) return `[${value.map(canonical).join()}]`;
  if (typeof value !== "object" || value === null) return JSON.stringify(value);
  const keys = Object.keys(value).sort();
  return `{${keys.map((key) => `${key}:${canonical((value as JsonObject)[key]!)}`).join()}}`;
}
