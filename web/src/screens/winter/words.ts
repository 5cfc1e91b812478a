/** What is told of a place and its compressor: kept on this device, and sent as it was typed. */

import { api, form, got, posted, type Schemas } from "../../api/client.ts";

export type WinterOut = Schemas["WinterOut"];

export interface Words {
  compressor: string;
  freezing_index: string;
  mean_temperature: string;
  snow: string;
  tonight: string;
  lagged: boolean;
  southern: boolean;
}

export const NONE: Words = {
  compressor: "workshop",
  freezing_index: "",
  mean_temperature: "",
  snow: "",
  tonight: "",
  lagged: false,
  southern: false,
};
export const COMPRESSORS = ["small", "workshop", "large", "towable"] as const;

const KEY = "rillwright.winter";

export function keptWords(yard: string): Words {
  try {
    const kept = JSON.parse(localStorage.getItem(`${KEY} ${yard}`) ?? "{}") as Partial<Words>;
    return { ...NONE, ...kept, tonight: "" }; // a night passes
  } catch {
    return { ...NONE };
  }
}

export function keepWords(yard: string, words: Words): void {
  localStorage.setItem(`${KEY} ${yard}`, JSON.stringify(words));
}

/** The fields of a request: what was left empty is left out. */
export function fields(words: Words): Record<string, string> {
  const told = Object.entries(words).flatMap(([name, value]): [string, string][] =>
    value === "" || value === false ? [] : [[name, String(value)]],
  );
  return Object.fromEntries(told);
}

/** Everything about winter for a plan. Errors: Refused, with the words of what is wrong. */
export async function asked(plan: string, words: Words): Promise<WinterOut> {
  const answer = await got(
    api.POST("/api/plans/{plan}/winter", {
      params: { path: { plan } },
      body: fields(words) as never,
      bodySerializer: () => form(fields(words)),
    }),
  );
  return answer as WinterOut;
}

/** The card on paper. Errors: Refused, with the words of what is wrong. */
export function paper(plan: string, words: Words): Promise<Blob> {
  return posted(`/api/plans/${plan}/winter/card`, fields(words));
}
