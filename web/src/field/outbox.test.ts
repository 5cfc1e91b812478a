import "fake-indexeddb/auto";
import { beforeEach, describe, expect, it } from "vitest";
import { newId } from "./ids.ts";
import { Outbox, type Answer, type Item, type Kept } from "./outbox.ts";
import { openShelf } from "./shelf.ts";

const note = (words: string): Item => ({
  kind: "entry",
  yard: "y",
  entry: {
    id: newId(),
    made: "2026-05-01T08:00:00Z",
    what: { kind: "note" },
    words,
    withdraws: false,
    photos: [],
    confirmed: [],
  },
});
type Written = Extract<Item, { kind: "entry" }>;
const words = (item: Item) => (item.kind === "entry" ? item.entry.words : item.kind);

/** A program that keeps each id once, over a line that may break before or after it hears. */
class Program {
  readonly kept = new Map<string, string>();
  readonly order: string[] = [];
  line: "up" | "down" | "deaf" = "up"; // deaf: it hears, and its answer is lost
  wrong = "";

  post = async (item: Item): Promise<Answer> => {
    await Promise.resolve();
    if (this.line === "down") return { status: "later", why: "no answer" };
    if (item.kind === "entry") {
      if (item.entry.words === this.wrong) return { status: "refused", why: "wrong" };
      if (!this.kept.has(item.entry.id)) this.order.push(words(item)!);
      this.kept.set(item.entry.id, JSON.stringify(item.entry));
    }
    return this.line === "deaf" ? { status: "later", why: "no answer" } : { status: "taken" };
  };
}

let name = "";
beforeEach(() => (name = newId()));

describe("Outbox on IndexedDB", () => {
  it("keeps what is written without a connection, over a reload, and sends it in order, once", async () => {
    const program = new Program();
    program.line = "down";
    const before = await openShelf(name);
    const first = new Outbox(before, program.post);
    for (const text of ["one", "two", "three"]) await first.keep(note(text));
    expect(await first.send()).toBe("no answer");
    before.close();

    const shelf = await openShelf(name);
    const second = new Outbox(shelf, program.post);
    expect((await shelf.all()).map((kept) => words(kept.item))).toEqual(["one", "two", "three"]);
    program.line = "deaf"; // arrives, and the answer does not
    await second.send();
    expect((await shelf.all()).length).toBe(3);
    program.line = "up";
    expect(await second.send()).toBe("");
    expect(program.order).toEqual(["one", "two", "three"]);
    expect(await shelf.all()).toEqual([]);
  });

  it("comes to the same end under every pattern of breaks", async () => {
    for (let pattern = 0; pattern < 3 ** 4; pattern += 1) {
      const program = new Program();
      const shelf = await openShelf(`${name}-${pattern}`);
      const outbox = new Outbox(shelf, program.post);
      let rest = pattern;
      for (const text of ["a", "b", "c", "d"]) {
        program.line = (["up", "down", "deaf"] as const)[rest % 3]!;
        rest = Math.floor(rest / 3);
        await outbox.keep(note(text));
        await outbox.send();
      }
      program.line = "up";
      await outbox.send();
      expect(program.order).toEqual(["a", "b", "c", "d"]);
      expect(await shelf.all()).toEqual([]);
      shelf.close();
    }
  });

  it("keeps what is refused with its reason, lets the rest pass, and drops it only when told", async () => {
    const program = new Program();
    program.wrong = "bad";
    const shelf = await openShelf(name);
    let seen: readonly Kept[] = [];
    const outbox = new Outbox(shelf, program.post, (kept) => (seen = kept));
    await outbox.keep(note("good"), note("bad"), note("also good"));
    expect(await outbox.send()).toBe("");
    expect(program.order).toEqual(["good", "also good"]);
    expect(seen.map((kept) => kept.refused)).toEqual(["wrong"]);
    await outbox.send();
    expect(seen).toHaveLength(1);
    await outbox.drop(seen[0]!.number);
    expect(seen).toEqual([]);
  });

  it("mends what was refused in its place, before what was written after it, under a new id", async () => {
    const program = new Program();
    program.wrong = "bad";
    const shelf = await openShelf(name);
    const outbox = new Outbox(shelf, program.post);
    const bad = note("bad");
    await outbox.keep(bad);
    await outbox.send();
    program.line = "down";
    const right = {
      ...note("right"),
      entry: { ...(note("right") as Written).entry, corrects: (bad as Written).entry.id },
    };
    await outbox.keep(note("later"), right as Item);
    const [refused] = await shelf.all();
    const mended = note("mended") as Written;
    await outbox.mend(refused!.number, mended);
    const kept = await shelf.all();
    expect(kept.map((one) => [words(one.item), one.refused])).toEqual([
      ["mended", undefined],
      ["later", undefined],
      ["right", undefined],
    ]);
    expect((kept[2]!.item as Written).entry.corrects).toBe(mended.entry.id); // not of an id that is gone
    program.line = "up";
    await outbox.send();
    expect(program.order).toEqual(["mended", "later", "right"]);
    expect(await shelf.all()).toEqual([]);
  });

  it("keeps what is set aside with its words, over a reload, unsent until it is sent again", async () => {
    const program = new Program();
    program.wrong = "bad";
    let shelf = await openShelf(name);
    let outbox = new Outbox(shelf, program.post);
    await outbox.keep(note("bad"), note("waits"));
    await outbox.send();
    await outbox.setAside((await shelf.all())[0]!.number);
    program.line = "down";
    await outbox.keep(note("stuck"));
    await outbox.setAside((await shelf.all())[1]!.number);
    shelf.close();
    shelf = await openShelf(name);
    outbox = new Outbox(shelf, program.post);
    program.line = "up";
    program.wrong = "";
    await outbox.send();
    expect(program.order).toEqual(["waits"]);
    expect((await shelf.all()).map((one) => [words(one.item), one.aside])).toEqual([
      ["bad", true],
      ["stuck", true],
    ]);
    for (const { number } of await shelf.all()) await outbox.again(number);
    await outbox.send();
    expect(program.order).toEqual(["waits", "bad", "stuck"]);
  });

  it("sends what was asked about once more, marked as confirmed", async () => {
    const shelf = await openShelf(name);
    const sent: Written[] = [];
    const outbox = new Outbox(shelf, async (item) => {
      sent.push(item as Written);
      return sent.length > 1
        ? { status: "taken" }
        : { status: "refused", why: "80 gpm: hardly", asked: ["flow over pipe"] };
    });
    await outbox.keep(note("odd"));
    await outbox.send();
    const [asked] = await shelf.all();
    expect([asked!.refused, asked!.asked]).toEqual(["80 gpm: hardly", ["flow over pipe"]]);
    await outbox.confirm(asked!.number);
    await outbox.send();
    expect(sent.map((one) => one.entry.confirmed)).toEqual([[], ["flow over pipe"]]);
    expect(sent[1]!.entry.id).toBe(sent[0]!.entry.id);
    expect(await shelf.all()).toEqual([]);
  });

  it("sends one at a time however often it is told to", async () => {
    const program = new Program();
    const calls: string[] = [];
    const shelf = await openShelf(name);
    const outbox = new Outbox(shelf, (item) => {
      calls.push(words(item)!);
      return program.post(item);
    });
    await outbox.keep(note("one"), note("two"));
    await Promise.all([outbox.send(), outbox.send(), outbox.send()]);
    expect(calls).toEqual(["one", "two"]);
  });

  it("keeps the bytes of a photo", async () => {
    const shelf = await openShelf(name);
    const bytes = new Uint8Array([1, 2, 3]).buffer;
    await shelf.add({ kind: "photo", yard: "y", id: newId(), media: "image/jpeg", bytes });
    const [kept] = await shelf.all();
    expect(kept!.item.kind === "photo" && [...new Uint8Array(kept!.item.bytes)]).toEqual([1, 2, 3]);
  });
});

describe("newId", () => {
  it("is a UUID of version 4 (RFC 9562), each time another", () => {
    const ids = new Set(Array.from({ length: 500 }, newId));
    expect(ids.size).toBe(500);
    for (const id of ids) expect(id).toMatch(/^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  });
});
