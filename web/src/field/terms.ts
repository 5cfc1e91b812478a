/** Who builds a yard, and when: kept on this device, and asked of the program as its guide wants it. */

import type { Schemas } from "../api/client.ts";

export type Terms = Pick<Schemas["BuildTerms"], "start"> &
  Required<Pick<Schemas["BuildTerms"], "days" | "hours" | "crew" | "digging">>;
export const WEEK = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"] as const satisfies Terms["days"];

const KEY = "rillwright.terms";

export function keptTerms(yard: string, today: Date): Terms {
  const usual: Terms = { start: dayOf(today), days: ["Sat", "Sun"], hours: 7, crew: 2, digging: "machine" };
  try {
    return { ...usual, ...(JSON.parse(localStorage.getItem(`${KEY} ${yard}`) ?? "{}") as Partial<Terms>) };
  } catch {
    return usual;
  }
}

export function keepTerms(yard: string, terms: Terms): void {
  localStorage.setItem(`${KEY} ${yard}`, JSON.stringify(terms));
}

/** The part of an address behind the '?'. */
export function asQuery(terms: Terms): string {
  const pairs = [["start", terms.start], ...terms.days.map((day) => ["days", day])];
  const rest = (["hours", "crew", "digging"] as const).map((key) => [key, String(terms[key])]);
  return new URLSearchParams([...pairs, ...rest] as string[][]).toString();
}

function dayOf(date: Date): string {
  const two = (number: number) => String(number).padStart(2, "0");
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
}
