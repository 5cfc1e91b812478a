/** Quantities other than lengths on the plan, as typed and as read: SI inside, US or metric at the edge. */

import { FOOT, INCH, readLength, type System } from "./lengths.ts";

const GALLON = 231 * INCH ** 3; // [m³] US liquid gallon, exact
const PSI = (0.45359237 * 9.80665) / INCH ** 2; // [Pa] exact

interface Unit {
  readonly name: string;
  readonly factor: number; // SI = value · factor
  readonly decimals: number;
}

export type Dimension =
  "pressure" | "flow" | "volume" | "season volume" | "time" | "depth" | "bore" | "height" | "share";

const OWN: Record<Dimension, Record<System, Unit>> = {
  pressure: {
    US: { name: "psi", factor: PSI, decimals: 1 },
    metric: { name: "kPa", factor: 1e3, decimals: 0 },
  },
  flow: {
    US: { name: "gpm", factor: GALLON / 60, decimals: 2 },
    metric: { name: "L/min", factor: 1e-3 / 60, decimals: 1 },
  },
  volume: {
    US: { name: "gal", factor: GALLON, decimals: 2 },
    metric: { name: "L", factor: 1e-3, decimals: 1 },
  },
  "season volume": {
    US: { name: "gal", factor: GALLON, decimals: 0 },
    metric: { name: "m³", factor: 1, decimals: 1 },
  },
  time: { US: { name: "s", factor: 1, decimals: 1 }, metric: { name: "s", factor: 1, decimals: 1 } },
  depth: {
    US: { name: "in", factor: INCH, decimals: 2 },
    metric: { name: "mm", factor: 1e-3, decimals: 1 },
  },
  bore: {
    US: { name: "in", factor: INCH, decimals: 3 },
    metric: { name: "mm", factor: 1e-3, decimals: 1 },
  },
  height: {
    US: { name: "ft", factor: FOOT, decimals: 1 },
    metric: { name: "m", factor: 1, decimals: 2 },
  },
  share: {
    US: { name: "%", factor: 0.01, decimals: 0 },
    metric: { name: "%", factor: 0.01, decimals: 0 },
  },
};

const LENGTHS: ReadonlySet<Dimension> = new Set(["depth", "bore", "height"]); // in any unit of length, fractions too

const ANY_LENGTH = { m: 1, cm: 0.01, mm: 1e-3, ft: FOOT, in: INCH };

const OTHERS: Partial<Record<Dimension, Record<string, number>>> = {
  pressure: { bar: 1e5, pa: 1 },
  flow: { "l/s": 1e-3, "m3/h": 1 / 3600, "m³/h": 1 / 3600 },
  volume: { ml: 1e-6, m3: 1, ft3: FOOT ** 3 },
  time: { min: 60, h: 3600 },
};

export function unitName(dimension: Dimension, system: System): string {
  return OWN[dimension][system].name;
}

/** Value for reading, with its unit. */
export function show(value: number, dimension: Dimension, system: System): string {
  const unit = OWN[dimension][system];
  const text = (value / unit.factor).toFixed(unit.decimals);
  return `${Number(text) === 0 ? text.replace("-", "") : text}${unit.name === "%" ? "" : " "}${unit.name}`;
}

/** Value (SI, or a text as it was typed) as a person would type it: a bare number in the yard's unit where it is one. */
export function asTyped(value: number | string, dimension: Dimension, system: System): string {
  if (typeof value === "string") return value;
  return String(Number((value / OWN[dimension][system].factor).toPrecision(5)));
}

/** Value with its unit and to six figures, as a yard document takes it. */
export function asText(value: number | string, dimension: Dimension, system: System): string {
  if (typeof value === "string") return value;
  const { factor, name } = OWN[dimension][system];
  return `${Number((value / factor).toPrecision(6))} ${name}`;
}

/** What was typed, with the unit that it means, such as `45 psi`; null when it is no such quantity. */
export function typed(text: string, dimension: Dimension, system: System): { text: string; value: number } | null {
  const found = /^([+-]?(?:\d+[.,]?\d*|[.,]\d+))\s*([a-z%][a-z0-9³/%]*)?$/i.exec(text.trim().replace("−", "-"));
  if (!found) return LENGTHS.has(dimension) ? compound(text, system) : null;
  const number = Number(found[1]!.replace(",", "."));
  const name = found[2] ?? OWN[dimension][system].name;
  const factor = factors(dimension)[name.toLowerCase()];
  return factor === undefined ? null : { text: `${number} ${name}`, value: number * factor };
}

/** A length of feet and inches or with a fraction, as metres. */
function compound(text: string, system: System): { text: string; value: number } | null {
  const value = /[a-z'"′″]/i.test(text) ? readLength(text, system) : null;
  return value === null ? null : { text: `${Number(value.toPrecision(8))} m`, value };
}

function factors(dimension: Dimension): Record<string, number> {
  const own = Object.values(OWN[dimension]).map((unit): [string, number] => [unit.name.toLowerCase(), unit.factor]);
  return { ...(LENGTHS.has(dimension) ? ANY_LENGTH : OTHERS[dimension]), ...Object.fromEntries(own) };
}
