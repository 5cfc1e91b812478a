import { beforeEach, describe, expect, it } from "vitest";
import { Answers, LIMIT, reads } from "./answers.ts";

const HOST = "http://127.0.0.1:8765";
const url = (asked: Request | string) => new URL(typeof asked === "string" ? asked : asked.url, HOST);
const keyOf = (asked: Request | string) => url(asked).pathname + url(asked).search;

/** A cache as browsers have it: in the order in which entries were put. */
class Held {
  readonly held = new Map<string, { body: ArrayBuffer; headers: Headers }>();
  async match(asked: Request | string) {
    const found = this.held.get(keyOf(asked));
    return found && new Response(found.body.slice(0), { headers: found.headers });
  }
  async matchAll() {
    return Promise.all([...this.held.keys()].map(async (key) => (await this.match(key))!));
  }
  async put(asked: Request | string, answer: Response) {
    this.held.set(keyOf(asked), { body: await answer.arrayBuffer(), headers: answer.headers });
  }
  async delete(asked: Request | string) {
    return this.held.delete(keyOf(asked));
  }
  async keys() {
    return [...this.held.keys()].map((key) => new Request(HOST + key));
  }
}

/** The program: what it answers by path, over a line that may be cut. */
class Program {
  readonly asked: string[] = [];
  up = true;
  status = 200;
  answers: Record<string, unknown> = {};
  readonly ask = async (request: Request | string) => {
    if (!this.up) throw new TypeError("no connection");
    this.asked.push(keyOf(request));
    const found = this.answers[url(request).pathname];
    return Response.json(found ?? null, { status: found === undefined ? 404 : this.status });
  };
}

let held: Held;
let program: Program;
beforeEach(() => {
  held = new Held();
  program = new Program();
});

function answers(limit = LIMIT): Answers {
  const caches = { open: async () => held, delete: async () => held.held.clear() } as unknown as CacheStorage;
  return new Answers(caches, program.ask, limit);
}
const get = (on: Answers, path: string) => on.answer(new Request(HOST + path));
const plan = (id: string, size = 10) =>
  Object.fromEntries(
    ["document", "ground", "depth", "workings", "steps"].map((part) => [`/api/plans/${id}/${part}`, "x".repeat(size)]),
  );
const WORKINGS = { "zone.Z1.flow": { key: "zone.Z1.flow", formula: "sum" }, "head.H 1/a": { key: "head.H 1/a" } };
const YARD = {
  "/api/units": {},
  "/api/schema/yard": {},
  "/api/yards": [],
  "/api/yards/y/revisions/current": { current: 4 },
  "/api/yards/y/plans": [
    { id: "old", status: "done", made: "2026-05-01T08:00:00Z" },
    { id: "new", status: "stopped early", made: "2026-05-02T08:00:00Z", current: true },
    { id: "bad", status: "failed", made: "2026-05-03T08:00:00Z" },
  ],
  "/api/yards/y/ticks": [],
  "/api/yards/y/log": [],
  "/api/yards/y/images": [],
  ...plan("new"),
  "/api/plans/new/explained": WORKINGS,
};

describe("answers kept for a time without a connection", () => {
  it("are the program's while it answers, and the last ones when it does not", async () => {
    const kept = answers();
    program.answers = { "/api/units": { a: 1 } };
    await get(kept, "/api/units");
    program.answers = { "/api/units": { a: 2 } };
    expect(await (await get(kept, "/api/units")).json()).toEqual({ a: 2 });
    program.up = false;
    expect(await (await get(kept, "/api/units")).json()).toEqual({ a: 2 });
    await expect(get(kept, "/api/yards")).rejects.toThrow("no connection");
  });

  it("are gone when the device is let in no more", async () => {
    const kept = answers();
    program.answers = { "/api/units": {}, "/api/yards": [] };
    await get(kept, "/api/units");
    program.status = 401;
    expect((await get(kept, "/api/yards")).status).toBe(401);
    expect(held.held.size).toBe(0);
  });

  it("hold all that the phone needs of a yard, with every working", async () => {
    const kept = answers();
    program.answers = YARD;
    const told = await kept.keepYard("y");
    expect([told.plan, told.missing, told.limit]).toEqual(["2026-05-02T08:00:00Z", [], LIMIT]);
    expect(told.bytes).toBeGreaterThan(100);
    program.up = false;
    for (const path of Object.keys(YARD)) {
      const query = path.endsWith("/log") ? "?after=0&most=1000" : "";
      expect(await (await get(kept, path + query)).json(), path).toEqual(YARD[path as keyof typeof YARD]);
    }
    const working = await get(kept, `/api/plans/new/workings/${encodeURIComponent("head.H 1/a")}`);
    expect(await working.json()).toEqual({ key: "head.H 1/a" });
    await expect(get(kept, "/api/plans/new/workings/none")).rejects.toThrow("no connection");
    expect((await kept.keepYard("y")).bytes).toBe(told.bytes); // nothing of it is lost by asking again in vain
  });

  it("ask for a plan once, for it never changes", async () => {
    const kept = answers();
    program.answers = YARD;
    await kept.keepYard("y");
    program.asked.length = 0;
    await kept.keepYard("y");
    const moving = ["/api/plans/new/done", "/api/plans/new/money", "/api/plans/new/as-built"]; // what moves on with log and yard
    expect(program.asked.filter((path) => path.startsWith("/api/plans/"))).toEqual(moving);
    expect(program.asked).toContain("/api/yards/y/ticks");
  });

  it("stay within their size: the yard read longest ago goes first, and of one yard what can be spared", async () => {
    const kept = answers(3000);
    const other = Object.fromEntries(
      Object.entries(YARD).map(([path, answer]) => [path.replace("/yards/y/", "/yards/z/"), answer]),
    );
    program.answers = { ...YARD, ...plan("new", 300) };
    await kept.keepYard("y");
    const notes = [{ id: "other", status: "done", made: "2026-05-02T08:00:00Z", current: true }];
    program.answers = { ...other, "/api/yards/z/plans": notes, ...plan("other", 600) };
    program.answers["/api/plans/other/explained"] = {};
    const told = await kept.keepYard("z");
    expect(told.bytes).toBeLessThanOrEqual(3000);
    expect(held.held.has("/api/plans/new/explained")).toBe(false);
    expect(held.held.has("/api/plans/other/document")).toBe(true);
    expect(held.held.has("/api/yards/z/revisions/current")).toBe(true);
  });

  it("leave out what is larger than all may be, and say so", async () => {
    const kept = answers(2000);
    program.answers = { ...YARD, "/api/plans/new/explained": { all: "x".repeat(5000) } };
    expect((await kept.keepYard("y")).missing).toEqual(["explained"]);
    expect(held.held.has("/api/plans/new/document")).toBe(true);
  });

  it("are of what reads, and of nothing else", () => {
    expect(reads("/api/plans/a/workings/zone.Z1.flow")).toBe(true);
    for (const path of [
      "/api/session",
      "/api/share",
      "/api/devices",
      "/api/plans/a/events",
      "/api/plans/a/files/plan.pdf",
    ])
      expect(reads(path), path).toBe(false);
  });
});
