/** What the supply of a document gives, asked for again when readings, entry or rules have changed. */

import { api, got, Refused, type Schemas } from "../api/client.ts";
import { isObject, type JsonObject } from "./json.ts";

const NO_ENTRY = [{ pointer: "/water_entry", value: "missing", allowed: "This must be given" }];
const WAIT = 300; // [ms]
const USUAL = 310_000; // [Pa] 45 psi, common practice

export class SupplyFit {
  answer = $state.raw<Schemas["DraftSupply"] | null>(null);
  problems = $state.raw<readonly Schemas["Place"][]>([]);
  fault = $state("");
  pressure = $state(USUAL); // [Pa] to keep at the entry
  private timer: ReturnType<typeof setTimeout> | undefined;
  private asked: readonly unknown[] = [];
  private turn = 0;

  follow(document: JsonObject): void {
    const hangsOn = [document["supply"], document["water_entry"], document["rules"], document["units"]];
    if (this.asked.length > 0 && hangsOn.every((one, number) => one === this.asked[number])) return;
    this.asked = hangsOn;
    this.soon(document);
  }

  /** Keep another pressure at the entry. */
  keep(pressure: number, document: JsonObject): void {
    this.pressure = pressure;
    this.soon(document);
  }

  private soon(document: JsonObject): void {
    clearTimeout(this.timer);
    if (!isObject(document["water_entry"])) {
      this.turn += 1;
      [this.answer, this.problems, this.fault] = [null, NO_ENTRY, ""];
      return;
    }
    this.timer = setTimeout(() => void this.ask(document), WAIT);
  }

  private async ask(document: JsonObject): Promise<void> {
    const turn = (this.turn += 1);
    try {
      const body = { document: document as Record<string, unknown>, pressure: this.pressure };
      const answer = await got(api.POST("/api/board/supply", { body }));
      if (turn === this.turn) [this.answer, this.problems, this.fault] = [answer as Schemas["DraftSupply"], [], ""];
    } catch (error) {
      if (turn !== this.turn) return;
      const body = error instanceof Refused ? (error.body as { problems?: Schemas["Place"][] } | null) : null;
      this.answer = null;
      this.problems = body?.problems ?? [];
      this.fault = this.problems.length > 0 ? "" : (error as Error).message;
    }
  }
}
