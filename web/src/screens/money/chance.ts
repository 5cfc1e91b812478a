/** A share of draws in words: no draw fails, or holds, for certain. */
export function outOf100(share: number): string {
  if (share > 0.99) return "more than 99 of 100";
  return share < 0.01 ? "fewer than 1 of 100" : `${(100 * share).toFixed(0)} of 100`;
}
