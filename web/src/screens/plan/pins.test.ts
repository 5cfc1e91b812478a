import { describe, expect, it } from "vitest";
import type { JsonObject } from "../../document/json.ts";
import { FOOT } from "../../geometry/lengths.ts";
import type { SitePoint } from "../../geometry/points.ts";
import { isPinned, pinHead, pinIds, pinZone, unpin } from "./pins.ts";

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
