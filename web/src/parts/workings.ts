/** Workings that came with an answer, by key: how each of its numbers came about. */
import type { Schemas } from "../api/client.ts";

export type Workings = Record<string, Schemas["WorkingOut"]>;

/** A number whose working is asked for. */
export interface AskedFor {
  workings: Workings;
  key: string;
}
