/** The pen: what is being drawn right now, corner by corner, by pointer, by keys, or by typed lengths. */

import type { AreaKind, PointKind } from "../../document/reading.ts";
import type { System } from "../../geometry/lengths.ts";
import { arcThrough } from "../../geometry/curves.ts";
import { distance, plus, type SitePoint } from "../../geometry/points.ts";
import { aim } from "../../geometry/tape.ts";

export type Tool = "select" | AreaKind | "hole" | "buried line" | "measure" | "picture scale" | "old pipe" | PointKind;

const POINTS: readonly Tool[] = ["tree", "spot height", "water entry", "controller", "old head", "old valve place"];
const LINES: readonly Tool[] = ["buried line", "old pipe", "measure", "picture scale"];

export type Shape = "none" | "point" | "line" | "ring";

export function shapeOf(tool: Tool): Shape {
  if (tool === "select") return "none";
  if (POINTS.includes(tool)) return "point";
  return LINES.includes(tool) ? "line" : "ring";
}

export class Pen {
  tool = $state<Tool>("select");
  path = $state.raw<readonly SitePoint[]>([]);
  curving = $state(false); // the next two points make an arc: one it leads over, and its end
  over = $state.raw<SitePoint | null>(null); // the first of these
  pointer = $state.raw<SitePoint | null>(null); // drawn to what is near
  guides = $state.raw<readonly (readonly [SitePoint, SitePoint])[]>([]);
  typed = $state<[string, string]>(["", ""]);
  readonly shape = $derived(shapeOf(this.tool));
  /** Where the next corner comes; null when a text cannot be read. */
  readonly next = $derived.by(() => this.aimed());

  constructor(
    private readonly system: () => System,
    private readonly done: (tool: Tool, path: readonly SitePoint[]) => void,
  ) {}

  private aimed(): SitePoint | null {
    if (this.shape === "none") return null;
    return aim(this.path, this.shape === "point" ? ["", ""] : this.typed, this.pointer, this.system());
  }

  take(tool: Tool): void {
    this.tool = tool;
    this.clear();
  }

  clear(): void {
    this.path = [];
    this.curving = false;
    this.over = null;
    this.typed = ["", ""];
    this.guides = [];
  }

  /** Put a corner where the tape or the pointer says; on the first corner of a ring that closes it. */
  put(at: SitePoint | null = this.next): void {
    if (!at || this.shape === "none") return;
    const first = this.path[0];
    if (this.shape === "ring" && first && this.path.length > 2 && distance(first, at) < 1e-6) {
      this.finish();
      return;
    }
    const last = this.path.at(-1);
    if (last && distance(last, at) < 1e-6) return;
    if (this.curving && last && this.over === null) this.over = at;
    else {
      this.path = [...this.path, ...(last && this.over ? arcThrough(last, this.over, at) : [at])];
      this.curving = false;
      this.over = null;
    }
    if (this.shape !== "point") this.typed = ["", ""];
    this.pointer = at;
    this.guides = [];
    if (this.shape === "point" || (this.tool === "picture scale" && this.path.length === 2)) this.finish();
  }

  /** Put a corner at the typed length in a main direction of the plan. */
  putToward(direction: string): void {
    this.typed = [this.typed[0], direction];
    this.put();
  }

  /** Begin a curve, or give it up. */
  curve(): void {
    this.curving = !this.curving;
    this.over = null;
  }

  /** What the path would be with one more point. */
  ahead(to: SitePoint | null): readonly SitePoint[] {
    const last = this.path.at(-1);
    if (!to || !last) return this.path;
    return [...this.path, ...(this.over ? arcThrough(last, this.over, to) : [to])];
  }

  get canFinish(): boolean {
    return this.path.length >= (this.shape === "ring" ? 3 : this.shape === "line" ? 2 : 1);
  }

  finish(): void {
    if (!this.canFinish) return;
    const { path } = this;
    const kept = this.typed;
    this.clear();
    if (this.shape === "point") this.typed = kept;
    this.done(this.tool, path);
  }

  back(): void {
    if (this.over) this.over = null;
    else this.path = this.path.slice(0, -1);
    this.typed = ["", ""];
  }

  /** Escape: first what is typed, then the path, then the tool. */
  cancel(): void {
    if (this.typed[0] || this.typed[1]) this.typed = ["", ""];
    else if (this.path.length > 0) this.clear();
    else this.tool = "select";
  }

  nudge(by: SitePoint, from: SitePoint): void {
    this.pointer = plus(this.pointer ?? from, by);
    this.guides = [];
  }
}
