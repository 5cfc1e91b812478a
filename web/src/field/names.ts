/** Names of a plan that may stand in an entry, by the field that they stand in. */

import type { Schemas } from "../api/client.ts";
import { isObject, type Json } from "../document/json.ts";

type Plan = Schemas["Plan"];

/** Names for a field of an entry; none where any text may stand, or where there is no plan. */
export function namesFor(plan: Plan | null, entry: Json | undefined): (key: string) => readonly string[] {
  const zones = (plan?.zones ?? []).map((zone) => zone.id);
  const named = isObject(entry) ? entry["zone"] : undefined;
  const own = plan?.zones?.find((zone) => zone.id === named)?.heads;
  const heads = own ?? (plan?.heads ?? []).map((head) => head.id);
  const NAMES: Readonly<Record<string, () => readonly string[]>> = {
    zone: () => zones,
    head: () => heads,
    at: () => (plan ? ["entry", "valve", ...heads] : []),
    running: () => ["nothing", "open outlet", ...zones],
    pipe: () => (plan?.pipes ?? []).map((pipe) => pipe.id),
    trenches: () => (plan?.trenches ?? []).map((trench) => trench.id),
    closed_in: () => (plan ? ["main", ...zones] : []),
    lawn: () => (plan?.yard.areas ?? []).filter((area) => area.kind === "lawn").map((area) => area.id),
    part: () => (plan?.parts ?? []).map((line) => line.part),
  };
  return (key) => NAMES[key]?.() ?? [];
}
