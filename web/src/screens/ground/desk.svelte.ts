/** What happens on the drawing board of the Ground screen: selecting, drawing, dragging, keys. */

import {
  addArea,
  addExisting,
  addSpot,
  addTree,
  moveItem,
  pointToFile,
  remove,
  removeHole,
  samePath,
  setPoint,
  setRing,
} from "../../document/edits.ts";
import { isList, isObject, valueAt, withValue, type JsonObject, type Path } from "../../document/json.ts";
import {
  AREA_KINDS,
  oldPoints,
  readDrawable,
  type AreaItem,
  type AreaKind,
  type PointItem,
} from "../../document/reading.ts";
import type { YardSession } from "../../document/session.svelte.ts";
import { FOOT, INCH, readLength, type System } from "../../geometry/lengths.ts";
import { distance, minus, nearestOnSegment, plus, type SitePoint } from "../../geometry/points.ts";
import {
  contains,
  insertCorner,
  moveCorner,
  moveRing,
  nearestOnRing,
  removeCorner,
  strip,
  type Ring,
} from "../../geometry/rings.ts";
import { snap, type SnapGround } from "../../geometry/snap.ts";
import { Pen, shapeOf, type Tool } from "./pen.svelte.ts";

export interface Selection {
  readonly path: Path;
  readonly hole: number | null; // of the ring in hand; null is the outline
  readonly corner: number | null;
}

export const BURIED_ROOM: Record<System, number> = { US: 4 * FOOT, metric: 1.2 }; // [m] width kept clear round a line
export const GRIDS: Record<System, readonly number[]> = {
  US: [0, INCH, 3 * INCH, 6 * INCH, FOOT, 5 * FOOT],
  metric: [0, 0.05, 0.1, 0.25, 0.5, 1],
};

const NEAR = { mouse: 9, touch: 18 }; // [px] reach of the pointer

export class GroundDesk {
  selection = $state.raw<Selection | null>(null);
  shown = $state.raw<Ring | null>(null); // ring in hand while it is dragged
  moved = $state.raw<SitePoint | null>(null); // point in hand while it is dragged
  guides = $state.raw<readonly (readonly [SitePoint, SitePoint])[]>([]);
  grid = $state(0);
  scale = $state(20); // [px/m] of the board
  picked = $state.raw<readonly SitePoint[] | null>(null); // two points of a picture
  readonly pen: Pen;
  readonly drawable = $derived.by(() => readDrawable(this.yard.document));
  readonly area = $derived(this.find(this.drawable.areas));
  readonly spots = $derived([...this.drawable.points, ...oldPoints(this.drawable)]);
  readonly point = $derived(this.find(this.spots));
  readonly pipe = $derived(this.find(this.drawable.existing.filter((one) => one.kind === "pipe")));
  readonly ring = $derived.by((): Ring | null => {
    if (!this.area) return null;
    const hole = this.selection?.hole ?? null;
    return this.shown ?? (hole === null ? this.area.outline : (this.area.holes[hole] ?? null));
  });

  constructor(readonly yard: YardSession) {
    this.grid = GRIDS[yard.units][3]!;
    this.pen = new Pen(
      () => this.yard.units,
      (tool, path) => this.drawn(tool, path),
    );
  }

  private find<T extends { path: Path }>(items: readonly T[]): T | undefined {
    return items.find((item) => samePath(item.path, this.selection?.path ?? null));
  }

  select(path: Path | null, corner: number | null = null, hole: number | null = null): void {
    this.selection = path && { path, hole, corner };
  }

  take(tool: Tool): void {
    this.pen.take(tool);
    if (tool !== "hole") this.select(null);
  }

  /** Where a pointer is drawn to. */
  snapped(
    to: SitePoint,
    event: { altKey: boolean; pointerType?: string },
    moving: SnapGround["path"],
    without?: Path,
  ): SitePoint {
    if (event.altKey) {
      this.guides = [];
      return to;
    }
    const rings = this.drawable.areas
      .filter((area) => !samePath(area.path, without ?? null))
      .flatMap((area) => [area.outline, ...area.holes]);
    const points = this.spots.filter((point) => !samePath(point.path, without ?? null)).map((point) => point.at);
    const found = snap(to, { rings, points, path: moving, grid: this.grid, reach: this.reach(event) });
    this.guides = found.guides;
    return found.at;
  }

  private reach(event: { pointerType?: string }): number {
    return (event.pointerType === "touch" ? NEAR.touch : NEAR.mouse) / this.scale;
  }

  hover(at: SitePoint | null, event: PointerEvent): void {
    if (this.pen.shape === "none") return;
    if (!at) this.guides = [];
    else this.pen.pointer = this.snapped(at, event, this.pen.path);
  }

  tap(at: SitePoint, event: PointerEvent): void {
    if (this.pen.shape === "none") {
      this.pickAt(at, event);
      return;
    }
    this.pen.pointer = this.snapped(at, event, this.pen.path);
    this.pen.put();
    this.guides = [];
  }

  private pickAt(at: SitePoint, event: PointerEvent): void {
    const reach = this.reach(event) * 1.4;
    const corner = this.cornerAt(at, reach);
    if (corner !== null && this.selection) {
      this.selection = { ...this.selection, corner };
      return;
    }
    const point = this.spots.filter((one) => distance(one.at, at) <= reach).at(-1);
    const area = [...this.drawable.areas].reverse().find((one) => onArea(one, at));
    const pipe = this.drawable.existing.find((one) => one.kind === "pipe" && offPath(one.points, at) <= reach);
    if (point) this.select(point.path);
    else if (pipe) this.select(pipe.path);
    else if (!area) this.select(null);
    else {
      const hole = area.holes.findIndex((ring) => (nearestOnRing(ring, at)?.distance ?? Infinity) <= reach);
      this.select(area.path, null, hole < 0 ? null : hole);
    }
  }

  private cornerAt(at: SitePoint, reach: number): number | null {
    const found = this.ring?.findIndex((corner) => distance(corner, at) <= reach) ?? -1;
    return found < 0 ? null : found;
  }

  /** What a press in select mode takes hold of: a corner, the middle of an edge, a point, or the whole area. */
  takeHold(at: SitePoint, event: PointerEvent): { move(at: SitePoint, event: PointerEvent): void; end(): void } | null {
    if (this.pen.shape !== "none") return null;
    const reach = this.reach(event) * 1.4;
    const { area, ring, selection } = this;
    if (area && ring && selection) {
      const corner = this.cornerAt(at, reach);
      if (corner !== null) return this.dragCorner(ring, corner);
      const middle = ring.findIndex((a, n) => distance(half(a, ring[(n + 1) % ring.length]!), at) <= reach);
      if (middle >= 0) {
        return this.dragCorner(
          insertCorner(ring, middle, half(ring[middle]!, ring[(middle + 1) % ring.length]!)),
          middle + 1,
        );
      }
      if (event.pointerType === "mouse" && contains(ring, at)) return this.dragRing(ring, at);
      return null;
    }
    const point = this.spots.filter((one) => distance(one.at, at) <= reach).at(-1);
    return point && samePath(point.path, selection?.path ?? null) ? this.dragPoint(point) : null;
  }

  private dragCorner(ring: Ring, corner: number) {
    const { path, hole } = this.selection!;
    const around = [ring[(corner - 2 + ring.length) % ring.length]!, ring[(corner - 1 + ring.length) % ring.length]!];
    return {
      move: (at: SitePoint, event: PointerEvent) => {
        this.shown = moveCorner(ring, corner, this.snapped(at, event, around, path));
        this.selection = { path, hole, corner };
      },
      end: () => this.keepRing(`corner of ${this.area?.id ?? "area"} moved`),
    };
  }

  private dragRing(ring: Ring, from: SitePoint) {
    const first = ring[0]!;
    const { path, hole } = this.selection!;
    return {
      move: (at: SitePoint, event: PointerEvent) => {
        const to = this.snapped(plus(first, minus(at, from)), event, [], path);
        this.shown = moveRing(ring, minus(to, first));
      },
      end: () => {
        const shift = this.shown && minus(this.shown[0]!, first);
        if (!shift) return;
        this.shown = null;
        this.guides = [];
        if (hole === null) this.yard.change(moveItem(this.yard.document, path, shift), `${this.area?.id} moved`);
        else this.yard.change(setRing(this.yard.document, path, hole, moveRing(ring, shift)), "hole moved");
      },
    };
  }

  private dragPoint(point: PointItem) {
    return {
      move: (at: SitePoint, event: PointerEvent) => {
        this.moved = this.snapped(at, event, [], point.path);
      },
      end: () => {
        if (!this.moved) return;
        this.yard.change(setPoint(this.yard.document, point.path, this.moved), `${point.id || point.kind} moved`);
        this.moved = null;
        this.guides = [];
      },
    };
  }

  private keepRing(what: string): void {
    const ring = this.shown;
    this.shown = null;
    this.guides = [];
    if (ring && this.selection) this.setRing(ring, what);
  }

  setRing(ring: Ring, what: string, tag = ""): void {
    if (!this.selection) return;
    this.yard.change(setRing(this.yard.document, this.selection.path, this.selection.hole, ring), what, tag);
  }

  /** What the pen has finished. */
  private drawn(tool: Tool, path: readonly SitePoint[]): void {
    const { document, units } = this.yard;
    const kind = AREA_KINDS.find((known) => known === tool);
    if (kind) this.keepArea(...addArea(document, kind, path), kind);
    else if (tool === "buried line") {
      this.keepArea(...addArea(document, "keep-out", strip(path, BURIED_ROOM[units]), "buried line"), "buried line");
    } else if (tool === "hole" && this.area) {
      const at = this.area.path;
      const number = this.area.holes.length;
      this.yard.change(setRing(document, at, number, path), `hole in ${this.area.id}`);
      this.pen.take("select");
      this.select(at, null, number);
    } else if (tool === "old pipe") {
      this.keep(...addExisting(document, "pipes", path), "old pipe drawn");
      this.pen.take("select");
    } else if (tool === "picture scale") {
      this.picked = path;
      this.pen.take("select");
    } else if (shapeOf(tool) === "point" && path[0]) this.keepPoint(tool, path[0]);
  }

  private keepArea(document: JsonObject, path: Path, word: AreaKind | "buried line"): void {
    this.yard.change(document, `${word} drawn`);
    this.pen.take("select");
    this.select(path);
  }

  private keepPoint(tool: Tool, at: SitePoint): void {
    const { document, units } = this.yard;
    if (tool === "old head") this.keep(...addExisting(document, "heads", [at]), "old head set");
    else if (tool === "old valve place") this.keep(...addExisting(document, "places", [at]), "old valve place set");
    else if (tool === "tree") this.keep(...addTree(document, at), "tree set");
    else if (tool === "spot height") {
      this.keep(...addSpot(document, at, readLength(this.pen.typed[0], units) ?? 0), "spot height set");
    } else {
      const key = tool === "controller" ? "controller" : "water_entry";
      const made = withValue(document, [key, "at"], pointToFile(at, units)) as JsonObject;
      this.keep(made, [key], `${tool} set`);
      this.pen.take("select");
    }
  }

  private keep(document: JsonObject, path: Path, what: string): void {
    this.yard.change(document, what);
    this.select(path);
  }

  remove(): void {
    const { selection, area, ring } = this;
    if (!selection) return;
    const { document } = this.yard;
    if (area && ring && selection.corner !== null) {
      if (ring.length <= 3) return;
      this.setRing(removeCorner(ring, selection.corner), `corner of ${area.id} removed`);
      this.selection = { ...selection, corner: null };
    } else if (area && selection.hole !== null) {
      this.yard.change(removeHole(document, area.path, selection.hole), `hole of ${area.id} removed`);
      this.select(area.path);
    } else {
      const item = valueAt(document, selection.path);
      const name =
        isObject(item) && typeof item["id"] === "string" ? item["id"] : String(selection.path[0]).replace("_", " ");
      this.yard.change(remove(document, selection.path), `${name} removed`);
      this.select(null);
    }
  }

  nudge(by: SitePoint): void {
    const { selection, area, ring, point } = this;
    if (!selection) return;
    const tag = `nudge ${selection.path.join()} ${selection.hole} ${selection.corner}`;
    if (ring && selection.corner !== null) {
      this.setRing(
        moveCorner(ring, selection.corner, plus(ring[selection.corner]!, by)),
        `corner of ${area?.id} moved`,
        tag,
      );
    } else if (ring && selection.hole !== null) this.setRing(moveRing(ring, by), `hole of ${area?.id} moved`, tag);
    else if (area ?? point ?? this.pipe) {
      this.yard.change(
        moveItem(this.yard.document, selection.path, by),
        `${(area ?? point ?? this.pipe)!.id || "spot height"} moved`,
        tag,
      );
    }
  }

  /** Go to the next or the previous corner of the ring in hand. */
  stepCorner(step: 1 | -1): void {
    if (!this.ring || !this.selection) return;
    const from = this.selection.corner ?? (step === 1 ? -1 : 0);
    this.selection = { ...this.selection, corner: (from + step + this.ring.length) % this.ring.length };
  }

  /** Put a corner in the middle of the edge after the one in hand, and take it in hand. */
  addCorner(): void {
    const { ring, selection } = this;
    if (!ring || !selection) return;
    const from = selection.corner ?? ring.length - 1;
    const middle = half(ring[from]!, ring[(from + 1) % ring.length]!);
    this.setRing(insertCorner(ring, from, middle), `corner of ${this.area?.id ?? "area"} added`);
    this.selection = { ...selection, corner: from + 1 };
  }

  /** Length [m] of one press of an arrow key. */
  get step(): number {
    return this.grid || (this.yard.units === "US" ? 3 * INCH : 0.1);
  }

  /** Keys on the board; whether the key was taken. */
  key(event: KeyboardEvent, middle: SitePoint): boolean {
    if (event.ctrlKey || event.metaKey || event.altKey) return false;
    const far = this.step * (event.shiftKey ? 10 : 1);
    const arrow = ARROWS[event.key];
    const { pen } = this;
    if (pen.shape !== "none") {
      if (arrow) pen.nudge([arrow[0] * far, arrow[1] * far], middle);
      else if (event.key === " ") pen.put(pen.next ?? middle);
      else if (event.key === "Enter") pen.finish();
      else if (event.key === "Backspace") pen.back();
      else if (event.key === "Escape") pen.cancel();
      else return false;
      return true;
    }
    if (arrow && this.selection) this.nudge([arrow[0] * far, arrow[1] * far]);
    else if (event.key === "Insert") this.addCorner();
    else if (event.key === "Delete" || event.key === "Backspace") this.remove();
    else if (event.key === "Escape" && this.selection) this.select(null);
    else if (event.key === "]" || event.key === "[") this.stepCorner(event.key === "]" ? 1 : -1);
    else return false;
    return true;
  }
}

const ARROWS: Record<string, SitePoint> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
};

function half(a: SitePoint, b: SitePoint): SitePoint {
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
}

function offPath(points: readonly SitePoint[], at: SitePoint): number {
  return Math.min(...points.slice(1).map((to, n) => distance(at, nearestOnSegment(at, points[n]!, to))));
}

function onArea(area: AreaItem, at: SitePoint): boolean {
  return contains(area.outline, at) && !area.holes.some((hole) => contains(hole, at));
}

/** Path of the item that a pointer into the document leads to: an area, a tree, a spot height, the entry, the controller. */
export function itemOf(document: JsonObject, path: Path): Path | null {
  const [list, number] = path;
  if (list === "existing" && typeof number === "string" && typeof path[2] === "number") return path.slice(0, 3);
  if (list === "water_entry" || list === "controller") return isObject(document[list]) ? [list] : null;
  if (typeof list !== "string" || typeof number !== "number") return null;
  return ["areas", "trees", "spot_heights"].includes(list) && isList(document[list]) ? [list, number] : null;
}
