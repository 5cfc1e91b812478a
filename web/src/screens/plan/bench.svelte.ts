/**
 * One plan laid open: as it was made, and as it stands with some heads set otherwise.
 *
 * A head follows the hand at once; water, pressures and findings follow when the program answers. One question is under
 * way at a time, always with every head that is set otherwise, so that an answer stands by itself.
 */

import { api, got, Refused, type Schemas } from "../../api/client.ts";
import { allUnits, inUnit, showQuantity, type Units } from "../../document/facts.ts";
import { keptOn, piecesOf, type Geometry, type Piece } from "../../geometry/areas.ts";
import type { SitePoint } from "../../geometry/points.ts";
import type { Extent } from "../../geometry/view.ts";

export type Plan = Schemas["Plan"];
export type Head = Schemas["Head"];
export type Zone = Schemas["Zone"];
export type Lawn = Schemas["Lawn"];
export type Finding = Schemas["Finding"];
export type Adjusted = Schemas["AdjustedOut"];
export type Setting = Omit<Schemas["SettingIn"], "head">;
export type Note = Schemas["PlanNote"];

/** The ground under a plan, ready to be drawn. */
export interface Ground {
  readonly extent: Extent;
  readonly lawns: ReadonlyMap<string, readonly Piece[]>;
  readonly kinds: ReadonlyMap<string, readonly Piece[]>;
  readonly roots: readonly Piece[];
  readonly trunks: readonly Piece[];
}

export class Bench {
  settings = $state.raw<ReadonlyMap<string, Setting>>(new Map());
  answer = $state.raw<Adjusted | null>(null);
  fault = $state("");
  private good: ReadonlyMap<string, Setting> = new Map();
  private again = false;
  private turns = $state.raw<Promise<void> | null>(null); // questions under way
  readonly asking = $derived(this.turns !== null);
  askedAt = 0; // [ms] when the last question that was answered was asked, by the page's clock

  readonly heads: readonly Head[] = $derived.by(() => {
    const answered = byId(this.answer?.heads);
    return this.plan.heads.map((head) => {
      const [now, set] = [answered.get(head.id) ?? head, this.settings.get(head.id)];
      return set ? { ...now, ...definedOf(set, now) } : now;
    });
  });
  readonly zones: readonly Zone[] = $derived.by(() => overlaid(this.plan.zones, this.answer?.zones));
  readonly lawns: readonly Lawn[] = $derived.by(() => overlaid(this.plan.lawns, this.answer?.lawns));
  readonly depths: readonly Schemas["LawnDepth"][] = $derived.by(() => {
    const answered = new Map(this.answer?.depths.map((one) => [one.lawn, one]));
    return this.planned.map((one) => answered.get(one.lawn) ?? one);
  });
  readonly pipes: readonly Schemas["Pipe"][] = $derived.by(() => {
    const at = new Map(this.heads.filter((head) => this.settings.get(head.id)?.at).map((head) => [head.id, head.at]));
    if (at.size === 0) return this.plan.pipes;
    return this.plan.pipes.map((pipe) => {
      const [start, end] = [at.get(pipe.start), at.get(pipe.end)];
      if (!start && !end) return pipe;
      return { ...pipe, path: pipe.path.map((p, i) => (i === 0 && start) || (i === pipe.path.length - 1 && end) || p) };
    });
  });
  readonly findings: readonly (Finding & { readonly news: boolean })[] = $derived.by(() => {
    const gone = new Set(this.answer?.gone.map((one) => JSON.stringify(one)));
    const kept = this.plan.findings.filter((one) => !gone.has(JSON.stringify(one)));
    const fresh = (this.answer?.new ?? []).map((one) => ({ ...one, news: true }));
    return [...fresh, ...kept.map((one) => ({ ...one, news: false }))];
  });

  private constructor(
    readonly note: Note,
    readonly plan: Plan,
    readonly ground: Ground,
    private readonly planned: readonly Schemas["LawnDepth"][],
    readonly printed: ReadonlyMap<string, Schemas["WorkingNote"]>,
    private readonly units: Units,
  ) {}

  /** Read a plan with all that is drawn of it. Errors: Refused. */
  static async open(note: Note): Promise<Bench> {
    const params = { path: { plan: note.id } };
    const [plan, ground, workings, units] = await Promise.all([
      got(api.GET("/api/plans/{plan}/document", { params })),
      got(api.GET("/api/plans/{plan}/ground", { params })),
      got(api.GET("/api/plans/{plan}/workings", { params })),
      allUnits(),
    ]);
    const depths = plan.zones.length > 0 ? await got(api.GET("/api/plans/{plan}/depth", { params })) : [];
    const printed = new Map(workings.map((one) => [one.key, one]));
    return new Bench(note, plan as Plan, groundOf(ground as Schemas["GroundOut"]), depths, printed, units);
  }

  /** Where the water comes in; a plan's own yard is in metres. */
  get entry(): SitePoint {
    return this.plan.yard.water_entry.at as unknown as SitePoint;
  }

  get controller(): SitePoint | null {
    return (this.plan.yard.controller.at ?? null) as unknown as SitePoint | null;
  }

  /** Value [SI] for reading. */
  show(value: number, dimension: string): string {
    return showQuantity(this.units, value, dimension, this.plan.yard.units).replace("-", "−");
  }

  /** Value [SI] in the yard's unit. */
  in(value: number, dimension: string): number {
    return inUnit(this.units, value, dimension, this.plan.yard.units);
  }

  unitName(dimension: string): string {
    return this.units[dimension]?.[this.plan.yard.units === "US" ? "us" : "metric"].name ?? "";
  }

  head(id: string): Head | undefined {
    return this.heads.find((one) => one.id === id);
  }

  asPlanned(id: string): Head | undefined {
    return this.plan.heads.find((one) => one.id === id);
  }

  zoneOf(head: string): Zone | undefined {
    return this.zones.find((zone) => zone.heads.includes(head));
  }

  /** Every head that is set otherwise, as the program is asked. */
  get asked(): {
    head: string;
    at?: [number, number] | null;
    arc_start?: number | null;
    arc?: number | null;
    radius_share?: number | null;
  }[] {
    return [...this.settings].map(([head, setting]) => ({ head, ...setting }));
  }

  /** Set a head otherwise; a place off its lawn becomes the nearest on it. What is refused is as it was in the end. */
  async set(id: string, change: Setting): Promise<void> {
    const planned = this.asPlanned(id);
    if (!planned || this.plan.zones.length === 0) return;
    const at = change.at ? keptOn(this.ground.lawns.get(planned.lawn) ?? [], change.at) : null;
    const own = { ...this.settings.get(id), ...change, ...(at ? { at: [at[0], at[1]] as [number, number] } : {}) };
    this.settings = new Map(this.settings).set(id, own);
    await this.ask();
  }

  /** Move a head by a step [m]. */
  nudge(id: string, by: readonly [number, number]): void {
    const head = this.head(id);
    if (head) void this.set(id, { at: [head.at[0] + by[0], head.at[1] + by[1]] });
  }

  /** Put a head back as planned, or all of them. */
  putBack(id?: string): void {
    this.settings = new Map([...this.settings].filter(([head]) => id !== undefined && head !== id));
    this.fault = "";
    void this.ask();
  }

  /** Ask what stands, after the question that is under way. Returns: when that is answered. */
  private ask(): Promise<void> {
    this.again = true;
    this.turns ??= this.askInTurn();
    return this.turns;
  }

  private async askInTurn(): Promise<void> {
    while (this.again) {
      this.again = false;
      await this.askOnce();
    }
    this.turns = null;
  }

  private async askOnce(): Promise<void> {
    const asked = this.settings;
    const heads = this.asked;
    const start = performance.now();
    try {
      const params = { path: { plan: this.note.id } };
      const answer = await got(api.POST("/api/plans/{plan}/adjust", { params, body: { heads } }));
      this.askedAt = start;
      performance.measure("rillwright: program answers", { start, end: performance.now() });
      // With nothing set otherwise the plan is as it was made, to the last digit.
      this.answer = asked.size > 0 ? (answer as Adjusted) : null;
      [this.good, this.fault] = [asked, ""];
    } catch (error) {
      this.fault = (error as Error).message;
      if (error instanceof Refused && error.status === 422 && this.settings === asked) this.settings = this.good;
    }
  }
}

function groundOf(ground: Schemas["GroundOut"]): Ground {
  const [lx, ly, hx, hy] = ground.extent;
  const pieces = (named: Record<string, Geometry>) =>
    new Map(Object.entries(named).map(([name, shape]) => [name, piecesOf(shape)] as const));
  return {
    extent: { low: [lx, ly] as SitePoint, high: [hx, hy] as SitePoint },
    lawns: pieces(ground.lawns),
    kinds: pieces(ground.kinds),
    roots: piecesOf(ground.roots),
    trunks: piecesOf(ground.trunks),
  };
}

function byId<T extends { readonly id: string }>(items: readonly T[] | undefined): Map<string, T> {
  return new Map(items?.map((one) => [one.id, one]));
}

function overlaid<T extends { readonly id: string }>(planned: readonly T[], answered: readonly T[] | undefined): T[] {
  const found = byId(answered);
  return planned.map((one) => found.get(one.id) ?? one);
}

function definedOf(
  set: Setting,
  head: Head,
): Partial<Pick<Head, "at" | "arc_start" | "arc" | "radius" | "radius_share">> {
  return {
    ...(set.at ? { at: set.at } : {}),
    ...(set.arc_start != null ? { arc_start: ((set.arc_start % 360) + 360) % 360 } : {}),
    ...(set.arc != null ? { arc: set.arc } : {}),
    ...(set.radius_share != null
      ? { radius_share: set.radius_share, radius: (head.radius / head.radius_share) * set.radius_share }
      : {}),
  };
}
