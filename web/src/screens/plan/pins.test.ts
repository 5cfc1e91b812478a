import { describe, expect, it } from "vitest";
import type { JsonObject } from "../../document/json.ts";
import { FOOT } from "../../geometry/lengths.ts";
import type { SitePoint } from "../../geometry/points.ts";
import { headsBeyond } from "./network.ts";
import {
  isPinned,
  pinCount,
  pinHead,
  pinIds,
  pinOfPipe,
  pinPipe,
  pinZone,
  sizePipe,
  unpin,
  unpinAll,
  unpinPipe,
} from "./pins.ts";

const head = (x: number, y: number) => ({ at: [x, y] as SitePoint, head_class: "rotary", arc_start: 90, arc: 180 });

describe("pins", () => {
  const empty: JsonObject = { units: "US", name: "invented" };

  it("writes a head's place in the file's unit, with its throw", () => {
    const next = pinHead(empty, head(10 * FOOT, 2.5 * FOOT), "US");
    expect(next["pins"]).toEqual({
      heads: [{ id: "pin 1", at: [10, 2.5], head_class: "rotary", arc_start: 90, arc: 180 }],
    });
    expect(isPinned(next, [10 * FOOT, 2.5 * FOOT], "US")).toBe("pin 1");
    expect(isPinned(next, [10 * FOOT + 0.2, 2.5 * FOOT], "US")).toBeNull();
  });

  it("takes a free name, also after one went", () => {
    const three = [1, 2, 3].reduce((document, x) => pinHead(document, head(x, 0), "metric"), empty);
    const two = unpin(three, ["pin 2"]);
    expect(pinIds(pinHead(two, head(9, 0), "metric"))).toEqual(["pin 1", "pin 3", "pin 2"]);
  });

  it("keeps a zone's heads together, those pinned before too, each in one zone alone", () => {
    const one = pinHead(empty, head(1, 0), "metric");
    const zone = pinZone(one, [head(1, 0), head(2, 0)], "metric");
    expect(zone["pins"]).toMatchObject({ zones: [{ id: "zone 1", heads: ["pin 1", "pin 2"] }] });
    const again = pinZone(zone, [head(2, 0), head(3, 0)], "metric");
    expect(again["pins"]).toMatchObject({ zones: [{ heads: ["pin 2", "pin 3"] }] });
    expect((again["pins"] as { heads: unknown[] }).heads).toHaveLength(3);
  });

  it("lets go without a trace", () => {
    const held = pinZone(empty, [head(1, 0), head(2, 0)], "metric");
    expect(unpin(held, ["pin 1"])["pins"]).toEqual({ heads: [expect.objectContaining({ id: "pin 2" })] });
    expect(unpin(held, pinIds(held))).toEqual(empty);
  });
});

describe("pinned pipes", () => {
  const empty: JsonObject = { units: "US", name: "invented" };
  const pipe = {
    role: "lateral",
    path: [
      [0, 0],
      [10 * FOOT, 2 * FOOT],
    ] as SitePoint[],
  };

  it("lie where the plan has them, in the file's unit, with the pinned heads beyond", () => {
    const one = pinHead(empty, head(10 * FOOT, 2 * FOOT), "US");
    const next = pinPipe(one, pipe, [head(10 * FOOT, 2 * FOOT), head(3, 3)], "US");
    expect((next["pins"] as { pipes: unknown[] }).pipes).toEqual([
      {
        id: "pipe 1",
        role: "lateral",
        path: [
          [0, 0],
          [10, 2],
        ],
        heads: ["pin 1"],
      },
    ]);
    expect(pinOfPipe(next, pipe, "US")).toEqual({ id: "pipe 1" });
    expect(pinOfPipe(next, { ...pipe, role: "main" }, "US")).toBeNull();
    expect(pinOfPipe(next, { ...pipe, path: [...pipe.path].reverse() }, "US")).toBeNull();
    expect(pinOfPipe(next, { ...pipe, path: [], pin: "pipe 1" }, "US")).toEqual({ id: "pipe 1" });
    expect(pinCount(next)).toEqual({ heads: 1, pipes: 1 });
  });

  it("are held at one size, and let go of it", () => {
    const next = pinPipe(empty, { ...pipe, role: "main" }, [], "metric");
    const least = sizePipe(next, "pipe 1", { least_size: "1 in" });
    expect(pinOfPipe(least, { ...pipe, role: "main" }, "metric")).toEqual({ id: "pipe 1", least_size: "1 in" });
    const just = sizePipe(least, "pipe 1", { size: "1 in" });
    expect(pinOfPipe(just, { ...pipe, role: "main" }, "metric")).toEqual({ id: "pipe 1", size: "1 in" });
    expect(sizePipe(just, "pipe 1", {})).toEqual(next);
    expect(unpinPipe(just, "pipe 1")).toEqual(empty);
    expect(unpinAll(pinHead(just, head(1, 1), "metric"))).toEqual(empty);
  });

  it("name no head that was let go", () => {
    const one = pinHead(empty, head(1, 0), "metric");
    const next = pinPipe(one, pipe, [head(1, 0)], "metric");
    const pipes = (unpin(next, ["pin 1"])["pins"] as { pipes: JsonObject[] }).pipes;
    expect(pipes[0]).not.toHaveProperty("heads");
  });

  it("lead to the heads beyond them, and a main to none", () => {
    const run = (start: string, end: string, zone: string | null) => ({ start, end, zone });
    const pipes = [run("V1", "J1", "Z1"), run("J1", "H1", "Z1"), run("H1", "H3", "Z1"), run("J1", "H2", "Z1")];
    const heads = ["H1", "H2", "H3"].map((id) => ({ id }));
    expect(headsBeyond(pipes[1]!, pipes, heads).map((one) => one.id)).toEqual(["H1", "H3"]);
    expect(headsBeyond(pipes[0]!, pipes, heads)).toHaveLength(3);
    expect(headsBeyond(run("entry", "V1", null), pipes, heads)).toEqual([]);
  });
});
