/** What the parts of the Plan screen share while one plan is open: its bench, what is chosen, and asking for workings. */

import { createContext } from "svelte";
import type { Bench } from "./bench.svelte.ts";

export interface Opened {
  readonly bench: Bench;
  readonly chosen: string | null;
  choose(id: string | null): void;
  /** Show how a number came about. */
  explain(key: string): void;
  /** Lead to what a finding names. */
  lead(where: string): void;
  /** Whether what a finding names has a place to be led to. */
  placed(where: string): boolean;
}

export const [opened, setOpened] = createContext<Opened>();
