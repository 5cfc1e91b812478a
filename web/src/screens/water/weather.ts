/** The weather kept with a yard: given once, taken by every programme and by the winter. */
import { api, form, got, type Schemas } from "../../api/client.ts";

export type KeptWeather = Schemas["WeatherOut"];

const at = (yard: string) => ({ params: { path: { yard } } });

/** What is kept; null for nothing. Errors: Refused. */
export async function keptWeather(yard: string): Promise<KeptWeather | null> {
  return (await got(api.GET("/api/yards/{yard}/weather", at(yard)))) ?? null;
}

/** Keep a file in place of the last. Errors: Refused, with the words of what is wrong in it; the last then stays. */
export async function keepWeather(yard: string, file: File): Promise<KeptWeather> {
  return got(
    api.PUT("/api/yards/{yard}/weather", {
      ...at(yard),
      body: { file } as never,
      bodySerializer: () => form({ file }),
    }),
  );
}

/** Keep none: the yard's own climate counts again. Errors: Refused. */
export async function dropWeather(yard: string): Promise<void> {
  await got(api.DELETE("/api/yards/{yard}/weather", at(yard)));
}

/** This season's days that are kept; null for none. Errors: Refused. */
export async function keptRecent(yard: string): Promise<KeptWeather | null> {
  return (await got(api.GET("/api/yards/{yard}/weather/recent", at(yard)))) ?? null;
}

/** Add a file's days to those of this season. Errors: Refused, when they do not go on from them; those then stay. */
export async function addRecent(yard: string, file: File): Promise<KeptWeather> {
  return got(
    api.PUT("/api/yards/{yard}/weather/recent", {
      ...at(yard),
      body: { file } as never,
      bodySerializer: () => form({ file }),
    }),
  );
}

/** Keep no days of this season. Errors: Refused. */
export async function dropRecent(yard: string): Promise<void> {
  await got(api.DELETE("/api/yards/{yard}/weather/recent", at(yard)));
}

/** Which days it holds, in words. */
export function heldBy(weather: KeptWeather): string {
  return weather.usual_year ? "a usual year" : `${weather.first} to ${weather.last}`;
}
