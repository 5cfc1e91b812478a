/** Names of plans: the number in the order they were made, what it leans to, its heads, its cost. */

import type { Schemas } from "../../api/client.ts";

export type Note = Pick<
  Schemas["PlanNote"],
  "id" | "made" | "status" | "verdict" | "seed" | "aim" | "heads" | "cost" | "currency"
>;

/** Short name, such as 'Plan 2'; `all` are the plans of the yard. */
export function planNumber(note: Pick<Note, "id">, all: readonly Note[]): string {
  const inOrder = [...all].sort((a, b) => a.made.localeCompare(b.made));
  return `Plan ${inOrder.findIndex((one) => one.id === note.id) + 1}`;
}

/** Full name, such as 'Plan 2: balanced, 31 heads, 1591 USD'. */
export function planName(note: Note, all: readonly Note[]): string {
  const facts = [
    note.aim,
    note.heads === null ? null : `${note.heads} ${note.heads === 1 ? "head" : "heads"}`,
    note.cost === null ? null : `${Math.round(note.cost)} ${note.currency}`,
    note.seed > 0 ? `start ${note.seed + 1}` : null,
    note.verdict === "fits" ? null : note.verdict,
    note.status === "stopped early" ? "stopped early" : null,
  ];
  return `${planNumber(note, all)}: ${facts.filter(Boolean).join(", ")}`;
}
