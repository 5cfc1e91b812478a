/** The watering programme asked for, and its nights laid out as a week. */
import { api, form, got, posted, type Schemas } from "../../api/client.ts";

export type Programme = Schemas["WaterPlan"];
export type WaterOut = Schemas["WaterOut"];

export interface Asked {
  year: number | null; // null when the field is emptied
  latitude: string;
}

export const FILES = {
  "door.pdf": "The sheet for the controller's door",
  "water.ics": "Calendar of nights and settings",
  "water.csv": "Months as a table",
  "water.html": "The whole as a page",
} as const;
export type FileName = keyof typeof FILES;

const KEY = "rillwright.water";

/** This year, at the latitude that was typed for the yard on this device. */
export function askedOf(yard: string): Asked {
  return { year: new Date().getFullYear(), latitude: localStorage.getItem(`${KEY} ${yard}`) ?? "" };
}

export function keepLatitude(yard: string, asked: Asked): void {
  localStorage.setItem(`${KEY} ${yard}`, asked.latitude.trim());
}

export interface Lawn {
  kind: "seed" | "sod";
  start: string; // empty: the middle of the best window
}

/** The fields of a request: what was left empty is left out. */
export function fields(asked: Asked, lawn?: Lawn): Record<string, string | Blob> {
  const latitude = asked.latitude.trim();
  return {
    ...(asked.year === null ? {} : { year: String(asked.year) }),
    ...(latitude === "" ? {} : { latitude }),
    ...(lawn ? { kind: lawn.kind } : {}),
    ...(lawn?.start ? { start: lawn.start } : {}),
  };
}

type Paths = "/api/plans/{plan}/water" | "/api/plans/{plan}/water/what-if" | "/api/plans/{plan}/new-lawn";

/** An answer to a form. Errors: Refused, with the words of what is wrong. */
function asking<T>(path: Paths, plan: string, told: Record<string, string | Blob>) {
  return got<T>(
    api.POST(path, {
      params: { path: { plan } },
      body: told as never,
      bodySerializer: () => form(told),
    }) as never,
  );
}

/** The programme of a plan. Errors: Refused. */
export const programmeOf = (plan: string, asked: Asked): Promise<WaterOut> =>
  asking("/api/plans/{plan}/water", plan, fields(asked));

/** What each change would save. Errors: Refused. */
export const whatIfs = (plan: string, asked: Asked): Promise<Schemas["WhatIfsOut"]> =>
  asking("/api/plans/{plan}/water/what-if", plan, fields(asked));

/** The course of a new lawn. Errors: Refused. */
export const newLawn = (plan: string, asked: Asked, lawn: Lawn): Promise<Schemas["NewLawnOut"]> =>
  asking("/api/plans/{plan}/new-lawn", plan, fields(asked, lawn));

/** A file of the programme. Errors: Refused. */
export const fileOf = (plan: string, name: FileName, asked: Asked): Promise<Blob> =>
  posted(`/api/plans/${plan}/water/${name}`, fields(asked));

/** A file of a new lawn. Errors: Refused. */
export const newLawnFile = (plan: string, name: string, asked: Asked, lawn: Lawn): Promise<Blob> =>
  posted(`/api/plans/${plan}/new-lawn/${name}`, fields(asked, lawn));

export interface Run {
  program: string;
  start: string;
  ends: string;
  stations: string;
}

export interface Night {
  date: string; // on which it ends
  day: string; // of the week
  runs: Run[];
}

const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"] as const;

function later(date: string, days: number): string {
  const day = new Date(`${date}T00:00:00Z`);
  day.setUTCDate(day.getUTCDate() + days);
  return day.toISOString().slice(0, 10);
}

function clock(start: string, minutes: number): string {
  const at = Number(start.slice(0, 2)) * 60 + Number(start.slice(3)) + minutes;
  const two = (value: number) => String(value).padStart(2, "0");
  return `${two(Math.floor(at / 60) % 24)}:${two(at % 60)}`;
}

/** The seven nights from a date on, each with what runs; rain may skip any. */
export function week(made: Programme, first: string): Night[] {
  return Array.from({ length: 7 }, (_, number) => {
    const date = later(first, number);
    const runs = made.clock.programs.flatMap((program) => {
      const month = made.months.find((one) => one.dates.includes(later(date, -program.night)));
      if (!month) return [];
      const own = program.stations.map((one) => ({ ...one, now: one.minutes[String(month.month)] ?? 0 }));
      const total = own.reduce((sum, one) => sum + one.now, 0);
      if (total === 0) return [];
      const stations = own.map((one) => `${one.zone} ${one.now} min`).join(", ");
      return program.starts.map((start) => ({ program: program.name, start, ends: clock(start, total), stations }));
    });
    return { date, day: DAYS[new Date(`${date}T00:00:00Z`).getUTCDay()]!, runs };
  });
}

/** The first night of a programme's calendar on or after a day; its very first when none is left. */
export function firstNight(made: Programme, today: string): string {
  const nights = made.months.flatMap((month) => month.dates).sort();
  return nights.find((date) => date >= today) ?? nights[0] ?? today;
}
