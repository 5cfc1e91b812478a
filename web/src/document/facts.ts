/** The schema of the yard document and the program's units, asked for once. */

import { api, got, type Schemas } from "../api/client.ts";
import type { System } from "../geometry/lengths.ts";
import type { JsonObject } from "./json.ts";
import { YardSchema } from "./schema.ts";

export type Units = Readonly<Record<string, Schemas["DimensionOut"]>>;

/** Ask once; a failure is asked again the next time. */
function once<T>(ask: () => Promise<T>): () => Promise<T> {
  let asked: Promise<T> | null = null;
  return () => {
    asked ??= ask().catch((error: unknown) => {
      asked = null;
      throw error;
    });
    return asked;
  };
}

/** Units by dimension. Errors: Refused. */
export const allUnits: () => Promise<Units> = once(() => got(api.GET("/api/units")));

/** Errors: Refused. */
export const yardSchema: () => Promise<YardSchema> = once(async () => {
  const [schema, units] = await Promise.all([got(api.GET("/api/schema/yard")), allUnits()]);
  return new YardSchema(schema as JsonObject, Object.values(units));
});

/** Schema of an entry of the field log. Errors: Refused. */
export const entrySchema: () => Promise<YardSchema> = once(async () => {
  const [schema, units] = await Promise.all([got(api.GET("/api/schema/entry")), allUnits()]);
  return new YardSchema(schema as JsonObject, Object.values(units));
});

/** Value [SI] of a dimension in a system's unit. */
export function inUnit(units: Units, value: number, dimension: string, system: System): number {
  const unit = units[dimension]?.[system === "US" ? "us" : "metric"];
  return unit ? (value - unit.offset) / unit.factor : value;
}

/** Value [SI] for reading, such as '31.6 L/min', with as many decimals as a person needs. */
export function showQuantity(units: Units, value: number, dimension: string, system: System): string {
  const unit = units[dimension]?.[system === "US" ? "us" : "metric"];
  return unit ? `${inUnit(units, value, dimension, system).toFixed(unit.decimals)} ${unit.name}`.trim() : String(value);
}
