import "fake-indexeddb/auto";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { Drafts } from "./drafts.ts";

const pending = (n: number) => ({ document: { n }, expected: n, labels: [`set ${n}`] });

let name = "";
let open: Drafts[] = [];
const page = (id: string, yard = "y") => {
  const drafts = new Drafts(yard, id, name);
  open.push(drafts);
  return drafts;
};
beforeEach(() => (name = String(Math.random())));
afterEach(() => {
  for (const drafts of open) drafts.close();
  open = [];
});

describe("drafts on IndexedDB", () => {
  test("the last of what a closed page left is found, with what it was made from", async () => {
    const closed = page("one");
    for (let n = 1; n <= 20; n += 1) closed.keep(pending(n));
    await closed.settled();
    expect(closed.kept).toBe(true);
    closed.close();
    const left = await page("two").left();
    expect(left).toMatchObject([{ yard: "y", page: "one", document: { n: 20 }, expected: 20, labels: ["set 20"] }]);
    expect(await page("three", "another yard").left()).toEqual([]);
  });

  test("what is saved is kept no more", async () => {
    const closed = page("one");
    closed.keep(pending(1));
    closed.keep(null);
    await closed.settled();
    closed.close();
    expect(await page("two").left()).toEqual([]);
  });

  test("what a page that is still open works at is not offered", async () => {
    const still = page("one");
    still.keep(pending(1));
    await still.settled();
    const other = page("two");
    expect(await other.left()).toEqual([]);
    still.close();
    const [draft] = await other.left();
    await other.remove(draft!);
    expect(await other.left()).toEqual([]);
  });
});
