/** The program's own interface over HTTP, typed from its description; a refusal becomes a `Refused` with its words. */

import createClient from "openapi-fetch";
import type { components, paths } from "./schema.d.ts";

export type Schemas = components["schemas"];

export const api = createClient<paths>({ baseUrl: "/" });

/** A request that was refused, or never arrived (status 0). */
export class Refused extends Error {
  constructor(
    readonly status: number,
    detail: string,
    readonly body: unknown = null,
  ) {
    super(detail);
  }
}

interface Answer<T> {
  data?: T;
  error?: unknown;
  response: Response;
}

/** What an answer holds. Errors: Refused with the problem's own words, or that the program cannot be reached. */
export async function got<T>(asked: Promise<Answer<T>>): Promise<T> {
  let answer: Answer<T>;
  try {
    answer = await asked;
  } catch {
    throw new Refused(0, "The program does not answer. Is it still running?");
  }
  if (answer.error !== undefined || !answer.response.ok) {
    throw new Refused(answer.response.status, told(answer.error, answer.response.status), answer.error);
  }
  return answer.data as T;
}

/** A file made of form fields. Errors: Refused, as `got` has them. */
export function posted(path: string, fields: Record<string, string | Blob>): Promise<Blob> {
  const answer = async (): Promise<Answer<Blob>> => {
    const response = await fetch(path, { method: "POST", body: form(fields) });
    return response.ok
      ? { data: await response.blob(), response }
      : { error: await response.json().catch(() => null), response };
  };
  return got(answer());
}

/** A problem in words: what is wrong, then place by place. */
function told(error: unknown, status: number): string {
  const problem = (error ?? {}) as Partial<Schemas["Problem"]>;
  const places = (problem.problems ?? []).map(({ pointer, value, allowed }) => {
    const place = pointer.slice(1).replaceAll("/", ", ");
    return `${place}${place && ": "}${value}: ${allowed}`;
  });
  return [problem.detail ?? `The program refused (${status}).`, ...places].join("\n");
}

/** Body of an upload by form fields. */
export function form(fields: Record<string, string | Blob | undefined>): FormData {
  const body = new FormData();
  for (const [name, value] of Object.entries(fields)) if (value !== undefined) body.append(name, value);
  return body;
}
