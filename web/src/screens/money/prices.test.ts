import { expect, test } from "vitest";
import { ownPrice, readPrice, withPrice } from "./prices.ts";

test("a price is added, changed and taken away, and nothing else moves", () => {
  const bare = { name: "yard", budget: 900 };
  const one = withPrice(bare, "valve box", 19);
  expect(one).toEqual({ ...bare, money: { prices: [{ part: "valve box", price: 19 }] } });
  const two = withPrice(withPrice(one, "wire", 0.2), "valve box", 21);
  expect(ownPrice(two, "valve box")).toBe(21);
  expect(ownPrice(two, "wire")).toBe(0.2);
  expect(withPrice(withPrice(two, "wire", undefined), "valve box", undefined)).toEqual(bare);
  expect(withPrice(bare, "wire", undefined)).toBe(bare);
});

test("a new price drops the old one's source, and keeps what it is of", () => {
  const before = { money: { tax: 0.07, prices: [{ part: "wire", price: 1, each: "m", source: "shop" }] } };
  expect(withPrice(before, "wire", 2)).toEqual({
    money: { tax: 0.07, prices: [{ part: "wire", price: 2, each: "m" }] },
  });
  expect(withPrice(before, "wire", undefined)).toEqual({ money: { tax: 0.07 } });
});

test("prices are read with a point or a comma", () => {
  expect([readPrice("2,50"), readPrice(" .5 "), readPrice("19"), readPrice("")]).toEqual([2.5, 0.5, 19, undefined]);
  expect([readPrice("-1"), readPrice("2 USD"), readPrice("1.2.3")]).toEqual([null, null, null]);
});
