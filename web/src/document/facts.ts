/** The schema of the yard document and the program's units, asked for once. */

import { api, got } from "../api/client.ts";
import type { JsonObject } from "./json.ts";
import { YardSchema } from "./schema.ts";

let asked: Promise<YardSchema> | null = null;

/** Errors: Refused, and asked again the next time. */
export function yardSchema(): Promise<YardSchema> {
  asked ??= Promise.all([got(api.GET("/api/schema/yard")), got(api.GET("/api/units"))])
    .then(([schema, units]) => new YardSchema(schema as JsonObject, Object.values(units)))
    .catch((error: unknown) => {
      asked = null;
      throw error;
    });
  return asked;
}
