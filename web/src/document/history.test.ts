import { describe, expect, test, vi } from "vitest";
import { History, StaleError, Unreachable, type Keeper, type Kept } from "./history.ts";
import type { JsonObject } from "./json.ts";

/** A store in memory, with the rules of the real one. */
function store(): Keeper & { chain: JsonObject[]; at: number; parents: (number | null)[] } {
  const kept = (): Kept => ({
    number: keeper.at,
    document: keeper.chain[keeper.at - 1]!,
    canUndo: keeper.parents[keeper.at - 1] !== null,
    canRedo: redo.has(keeper.at),
  });
  const redo = new Map<number, number>();
  const expect = (number: number, mine: JsonObject | null) => {
    if (number === keeper.at) return;
    const stale = {
      current: keeper.at,
      merged: { ...keeper.chain[keeper.at - 1]!, ...mine },
      conflicts: [],
      mine: [],
      theirs: [],
    };
    throw new StaleError(mine && stale);
  };
  const keeper = {
    chain: [{ n: 0 }] as JsonObject[],
    parents: [null] as (number | null)[],
    at: 1,
    async save(document: JsonObject, expected: number) {
      expect(expected, document);
      keeper.chain.push(document);
      keeper.parents.push(keeper.at);
      redo.set(keeper.at, keeper.chain.length);
      keeper.at = keeper.chain.length;
      return kept();
    },
    async undo(expected: number) {
      expect(expected, null);
      const parent = keeper.parents[keeper.at - 1]!;
      redo.set(parent, keeper.at);
      keeper.at = parent;
      return kept();
    },
    async redo(expected: number) {
      expect(expected, null);
      keeper.at = redo.get(keeper.at)!;
      return kept();
    },
    current: async () => kept(),
  };
  return keeper;
}

/** What the next call of the store does but the answer is lost on the way. */
function losing(keeper: Keeper, call: "save" | "undo" | "redo"): void {
  const real = keeper[call] as (...given: unknown[]) => Promise<Kept>;
  keeper[call] = async (...given: unknown[]) => {
    keeper[call] = real;
    await real(...given);
    throw new Unreachable("lost");
  };
}

async function settled(): Promise<void> {
  await vi.runAllTimersAsync();
}

describe("history", () => {
  const open = (keeper: ReturnType<typeof store>, canUndo = false) =>
    new History(
      keeper,
      { number: keeper.at, document: keeper.chain[keeper.at - 1]!, canUndo, canRedo: false },
      () => undefined,
    );

  test("every change is a revision; undo and redo act at once and in the store", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    for (let n = 1; n <= 5; n += 1) history.change({ n }, `set ${n}`);
    history.undo();
    history.undo();
    expect(history.document).toEqual({ n: 3 });
    await settled();
    expect(keeper.chain[keeper.at - 1]).toEqual({ n: 3 });
    history.redo();
    await settled();
    expect([history.document, keeper.chain[keeper.at - 1], history.saving]).toEqual([{ n: 4 }, { n: 4 }, "saved"]);
    history.change({ n: 9 }, "another way");
    expect(history.canRedo).toBe(false);
  });

  test("changes of one tag in a row are one step", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    for (let n = 1; n <= 5; n += 1) history.change({ n }, "nudge", "nudge");
    await settled();
    expect(keeper.chain).toHaveLength(2);
    history.undo();
    expect(history.document).toEqual({ n: 0 });
  });

  test("undo reaches back before this tab was opened", async () => {
    vi.useFakeTimers();
    const keeper = store();
    await keeper.save({ n: 1 }, 1, "before");
    const history = open(keeper, true);
    history.undo();
    expect(history.open).toBe(false);
    await settled();
    expect(history.document).toEqual({ n: 0 });
    expect(history.canUndo).toBe(false);
    history.redo();
    expect(history.document).toEqual({ n: 1 });
  });

  test("a change elsewhere stops saving until a choice is made, and nothing is overwritten", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    await keeper.save({ n: 0, theirs: 1 }, 1, "elsewhere");
    history.change({ n: 0, mine: 1 }, "mine");
    await settled();
    expect(history.stale?.merged).toEqual({ n: 0, theirs: 1, mine: 1 });
    expect(history.saving).toBe("choice");
    history.change({ n: 7 }, "not now");
    expect(history.document).toEqual({ n: 0, mine: 1 });
    history.choose(history.stale!.merged);
    await settled();
    expect(keeper.chain[keeper.at - 1]).toEqual({ n: 0, theirs: 1, mine: 1 });
    expect(history.saving).toBe("saved");
  });

  test("undo on a stale revision asks for the choice too", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    history.change({ n: 1 }, "one");
    await settled();
    await keeper.save({ n: 2 }, 2, "elsewhere");
    history.undo();
    await settled();
    expect(history.stale?.current).toBe(3);
  });

  test("a refusal is told, also when undo finds that the yard has gone", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    history.change({ n: 1 }, "one");
    await settled();
    keeper.undo = () => Promise.reject(new StaleError(null));
    keeper.save = () => Promise.reject(new Error("It is in the bin."));
    history.undo();
    await settled();
    expect([history.saving, history.fault, history.stale]).toEqual(["refused", "It is in the bin.", null]);
  });

  test("without an answer changes wait and are sent later, in order, once", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const real = keeper.save.bind(keeper);
    keeper.save = () => Promise.reject(new Unreachable("down"));
    const history = open(keeper);
    history.change({ n: 1 }, "one");
    history.change({ n: 2 }, "two");
    await vi.advanceTimersByTimeAsync(1000);
    expect(history.saving).toBe("waiting");
    keeper.save = real;
    await settled();
    expect(keeper.chain).toEqual([{ n: 0 }, { n: 1 }, { n: 2 }]);
    expect(history.saving).toBe("saved");
  });

  test.each([
    ["two changes", (history: History) => history.change({ n: 0, a: 1, b: 1 }, "b"), { n: 0, a: 1, b: 1 }],
    [
      "three changes",
      (history: History) => {
        history.change({ n: 0, a: 1, b: 1 }, "b");
        history.change({ n: 0, a: 1, b: 1, c: 1 }, "c");
      },
      { n: 0, a: 1, b: 1, c: 1 },
    ],
    [
      "an undo between changes",
      (history: History) => {
        history.change({ n: 0, a: 1, b: 1 }, "b");
        history.undo();
        history.change({ n: 0, a: 1, c: 1 }, "c");
      },
      { n: 0, a: 1, c: 1 },
    ],
    [
      "an undo and a redo at the end",
      (history: History) => {
        history.change({ n: 0, a: 1, b: 1 }, "b");
        history.undo();
        history.redo();
      },
      { n: 0, a: 1, b: 1 },
    ],
  ])("of steps that waited, the newest document is put together with the other: %s", async (_, act, newest) => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    const real = keeper.save.bind(keeper);
    keeper.save = () => Promise.reject(new Unreachable("down"));
    history.change({ n: 0, a: 1 }, "a");
    act(history);
    await vi.advanceTimersByTimeAsync(1000);
    keeper.save = real;
    await keeper.save({ n: 0, theirs: 1 }, 1, "elsewhere");
    await settled();
    expect([history.saving, history.document]).toEqual(["choice", newest]);
    expect(history.stale?.merged).toEqual({ ...newest, theirs: 1 });
    history.flush();
    await settled();
    expect(history.saving).toBe("choice"); // until one is made
    expect(keeper.chain).toHaveLength(2);
    history.choose(history.stale!.merged);
    await settled();
    expect([history.saving, keeper.chain[keeper.at - 1]]).toEqual(["saved", { ...newest, theirs: 1 }]);
  });

  test.each(["change", "undo"] as const)(
    "a late %s, while the newest document is under way, is not lost",
    async (late) => {
      vi.useFakeTimers();
      const keeper = store();
      const history = open(keeper);
      await keeper.save({ n: 0, theirs: 1 }, 1, "elsewhere");
      const real = keeper.save.bind(keeper);
      let posts = 0;
      keeper.save = async (document, expected) => {
        posts += 1;
        if (posts === 2) {
          if (late === "change") history.change({ n: 0, a: 1, b: 1, late: 1 }, "late");
          else history.undo();
          await new Promise((resolve) => setTimeout(resolve, 1000));
          expect(history.saving).toBe("saving");
        }
        return real(document, expected, "");
      };
      history.change({ n: 0, a: 1 }, "a");
      history.change({ n: 0, a: 1, b: 1 }, "b");
      await settled();
      const newest = late === "change" ? { n: 0, a: 1, b: 1, late: 1 } : { n: 0, a: 1 };
      expect([history.saving, history.document]).toEqual(["choice", newest]);
      expect(history.stale?.merged).toEqual({ ...newest, theirs: 1 });
    },
  );

  test.each(["change", "undo"] as const)(
    "a late %s, while the newest is under way and arrives, is sent next",
    async (late) => {
      vi.useFakeTimers();
      const keeper = store();
      const history = open(keeper);
      await keeper.save({ n: 0, theirs: 1 }, 1, "elsewhere");
      const real = keeper.save.bind(keeper);
      let posts = 0;
      keeper.save = async (document, expected) => {
        posts += 1;
        if (posts === 2) {
          await keeper.undo(2); // the other goes back, so that this one arrives
          if (late === "change") history.change({ n: 3 }, "late", "nudge");
          else history.undo();
        }
        return real(document, expected, "");
      };
      history.change({ n: 1 }, "one");
      history.change({ n: 2 }, "two", "nudge");
      await settled();
      const newest = late === "change" ? { n: 3 } : { n: 1 };
      expect([history.saving, history.document, keeper.chain[keeper.at - 1]]).toEqual(["saved", newest, newest]);
      history.undo();
      await settled();
      expect(keeper.chain[keeper.at - 1]).toEqual(history.document);
    },
  );

  test("a save whose answer was lost is not a conflict with oneself, and what came after it is sent", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    losing(keeper, "save");
    history.change({ n: 1 }, "one", "nudge");
    await vi.advanceTimersByTimeAsync(1000);
    expect(history.saving).toBe("waiting");
    history.change({ n: 2 }, "two", "nudge");
    await settled();
    expect([history.saving, history.stale]).toEqual(["saved", null]);
    expect(keeper.chain).toEqual([{ n: 0 }, { n: 1 }, { n: 2 }]);
  });

  test.each([false, true])(
    "undo and redo whose answer was lost are done once; asked of the store: %s",
    async (deep) => {
      vi.useFakeTimers();
      const keeper = store();
      if (deep) await keeper.save({ n: 1 }, 1, "before");
      const history = open(keeper, deep);
      if (!deep) history.change({ n: 1 }, "one");
      await settled();
      losing(keeper, "undo");
      history.undo();
      await settled();
      expect([history.saving, history.document, keeper.at]).toEqual(["saved", { n: 0 }, 1]);
      losing(keeper, "redo");
      history.redo();
      await settled();
      expect([history.saving, history.document, keeper.at]).toEqual(["saved", { n: 1 }, 2]);
    },
  );

  test("a lost save followed by a change elsewhere is put together with it", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    losing(keeper, "save");
    history.change({ n: 1 }, "one");
    await vi.advanceTimersByTimeAsync(1000);
    await keeper.save({ n: 1, theirs: 1 }, 2, "elsewhere");
    await settled();
    expect(history.stale?.merged).toEqual({ n: 1, theirs: 1 });
  });

  test("an answer that comes late takes nothing back", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    const [asked, late] = [history.turn, await keeper.current()];
    history.change({ n: 1 }, "set 1");
    await settled();
    history.adopt(late, asked);
    expect([history.document, history.revision]).toEqual([{ n: 1 }, 2]);
    const again = history.turn;
    await keeper.save({ n: 7 }, 2, "elsewhere");
    const first = await keeper.current();
    await keeper.save({ n: 8 }, 3, "elsewhere");
    history.adopt(await keeper.current(), again); // the later question, answered first
    history.adopt(first, again);
    expect(history.document).toEqual({ n: 8 });
    history.adopt(first, history.turn); // undone elsewhere: an older number may be the newest word
    expect(history.document).toEqual({ n: 7 });
  });

  test("what would be lost is told until it is saved, and is taken up elsewhere", async () => {
    vi.useFakeTimers();
    const keeper = store();
    const history = open(keeper);
    history.change({ n: 1 }, "set 1");
    history.change({ n: 2 }, "set 2");
    const pending = history.pending!;
    expect(pending).toEqual({ document: { n: 2 }, expected: 1, labels: ["set 1", "set 2"] });
    await settled();
    expect(history.pending).toBeNull();

    const apart = store();
    const other = open(apart);
    other.takeUp(pending);
    expect(other.document).toEqual({ n: 2 });
    await settled();
    expect([apart.chain.at(-1), other.saving, other.pending]).toEqual([{ n: 2 }, "saved", null]);
    other.undo();
    await settled();
    expect(other.document).toEqual({ n: 0 });
  });

  test("what is taken up after a change elsewhere is put to choice", async () => {
    vi.useFakeTimers();
    const keeper = store();
    await keeper.save({ theirs: 1 }, 1, "elsewhere");
    const history = open(keeper);
    history.takeUp({ document: { n: 5 }, expected: 1, labels: ["set 5"] });
    await settled();
    expect([history.saving, history.stale?.merged]).toEqual(["choice", { theirs: 1, n: 5 }]);
    expect(history.pending).toMatchObject({ document: { n: 5 }, expected: 1 }); // until it is chosen
    history.choose(history.stale!.merged);
    await settled();
    expect([keeper.chain.at(-1), history.pending]).toEqual([{ theirs: 1, n: 5 }, null]);
  });
});
