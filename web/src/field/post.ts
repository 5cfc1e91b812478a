/** Sending one item of the outbox to the program, and what its answer means. */

import { api, form, got, Refused, type Schemas } from "../api/client.ts";
import { SCHEMAS } from "./readings.ts";
import type { Answer, Item } from "./outbox.ts";

const PATIENCE = 20_000; // [ms]
const PATIENCE_PHOTO = 120_000; // [ms]
const ENTRY = "/entries/0/";
const WAY = new Set(["what", "supply test", "measurement"]); // down to the fields of an entry
const NOT_THIS_ITEM = new Set([403, 408, 421, 425, 429]); // the device or the moment is wrong

export async function post(item: Item): Promise<Answer> {
  try {
    return await posted(item);
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    const { status } = error;
    const why = toldOf(error);
    if (status === 0) return { status: "later", why: "no connection" };
    if (status === 401) return { status: "later", why, shut: true };
    return { status: status >= 500 || NOT_THIS_ITEM.has(status) ? "later" : "refused", why };
  }
}

/** A step down to a field; items of a list are counted from one, as in their form. */
function counted(step: string): string {
  return /^\d+$/.test(step) ? String(Number(step) + 1) : step;
}

/** Why an entry was refused, field by field; the way down to a field in what was sent says nothing to its writer. */
function toldOf({ message, body }: Refused): string {
  const problems = (body as Partial<Schemas["Problem"]> | null)?.problems ?? [];
  const told = problems.map(({ pointer, allowed }) => {
    const steps = pointer.replace(ENTRY, "").split("/");
    const field = steps
      .filter((step) => !WAY.has(step) && !(step in SCHEMAS))
      .map(counted)
      .join(" ");
    return (field && `${field.replaceAll("_", " ")}: `) + allowed;
  });
  return told.length > 0 && problems.every(({ pointer }) => pointer.startsWith(ENTRY)) ? told.join("; ") : message;
}

async function posted(item: Item): Promise<Answer> {
  const path = { yard: item.yard };
  if (item.kind === "entry") {
    const body = { entries: [item.entry] };
    const signal = AbortSignal.timeout(PATIENCE);
    const [receipt] = await got(api.POST("/api/yards/{yard}/log", { params: { path }, body, signal }));
    if (!receipt) return { status: "later", why: "no receipt came" };
    if (receipt.status === "asked") return { status: "refused", why: receipt.why, asked: receipt.asked };
    return receipt.status === "refused" ? { status: "refused", why: receipt.why } : { status: "taken" };
  }
  if (item.kind === "photo") {
    const body = form({ file: new Blob([item.bytes], { type: item.media }) }) as never;
    const params = { path: { ...path, photo: item.id } };
    const bodySerializer = (given: unknown) => given as FormData;
    const signal = AbortSignal.timeout(PATIENCE_PHOTO);
    await got(api.PUT("/api/yards/{yard}/photos/{photo}", { params, body, bodySerializer, signal }));
    return { status: "taken" };
  }
  const params = { path: { ...path, step: item.step } };
  const { id, done, made, over } = item;
  const body = { id, done, made, over };
  await got(api.PUT("/api/yards/{yard}/ticks/{step}", { params, body, signal: AbortSignal.timeout(PATIENCE) }));
  return { status: "taken" };
}
