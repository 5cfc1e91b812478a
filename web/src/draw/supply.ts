/** The supply curve as data for a chart, in the yard's own units. */

import type { Schemas } from "../api/client.ts";

export type SupplyReport = Schemas["SupplyReport"];
export type Convert = (value: number, dimension: "flow" | "pressure") => number;

/** A point that something works at, such as a zone of a plan. */
export interface WorkingPoint {
  readonly name: string;
  readonly flow: number; // [m³/s]
  readonly pressure: number; // [Pa]
}

export interface SupplyDrawing {
  readonly curve: readonly { flow: number; low: number; median: number; high: number }[];
  readonly measured: readonly {
    name: string;
    flow: number;
    pressure: number;
    flowLow: number;
    flowHigh: number;
    low: number;
    high: number;
  }[];
  readonly limits: readonly { name: string; flow: number; binds: boolean }[];
  readonly kept: number; // pressure
  readonly safe: number; // flow
  readonly working: readonly { name: string; flow: number; pressure: number }[];
}

const SPREAD = 1.645; // standard errors on each side of a 90 % band

export function drawSupply(report: SupplyReport, to: Convert, working: readonly WorkingPoint[] = []): SupplyDrawing {
  const flow = (value: number) => to(value, "flow");
  const pressure = (value: number) => to(value, "pressure");
  return {
    curve: report.curve.map((point) => ({
      flow: flow(point.flow),
      low: pressure(Math.max(0, point.low)),
      median: pressure(Math.max(0, point.median)),
      high: pressure(Math.max(0, point.high)),
    })),
    measured: report.measured.map((point) => ({
      name: point.label,
      flow: flow(point.flow),
      pressure: pressure(point.pressure),
      flowLow: flow(Math.max(0, point.flow - SPREAD * point.flow_error)),
      flowHigh: flow(point.flow + SPREAD * point.flow_error),
      low: pressure(Math.max(0, point.pressure - SPREAD * point.pressure_error)),
      high: pressure(point.pressure + SPREAD * point.pressure_error),
    })),
    limits: report.limits.map((limit) => ({
      name: limit.name,
      flow: flow(limit.flow),
      binds: limit.name === report.binds,
    })),
    kept: pressure(report.reference_pressure),
    safe: flow(report.safe_flow),
    working: working.map((point) => ({ name: point.name, flow: flow(point.flow), pressure: pressure(point.pressure) })),
  };
}
