/** Contours and slope of a yard's ground, asked for again when what they hang on has changed. */

import { api, got, type Schemas } from "../api/client.ts";
import type { JsonObject } from "./json.ts";

export type TerrainPicture = Schemas["TerrainPicture"];

const WAIT = 350; // [ms]

export class Terrain {
  picture = $state.raw<TerrainPicture | null>(null);
  private timer: ReturnType<typeof setTimeout> | undefined;
  private asked: readonly unknown[] = [];
  private turn = 0;

  /** Follow a document; nothing is asked while it has no spot height. */
  follow(document: JsonObject): void {
    const hangsOn = [document["spot_heights"], document["areas"], document["units"]];
    if (hangsOn.every((one, number) => one === this.asked[number])) return;
    this.asked = hangsOn;
    clearTimeout(this.timer);
    const spots = document["spot_heights"];
    if (!Array.isArray(spots) || spots.length === 0) this.picture = null;
    else this.timer = setTimeout(() => void this.ask(document), WAIT);
  }

  private async ask(document: JsonObject): Promise<void> {
    const turn = (this.turn += 1);
    try {
      const picture = await got(
        api.POST("/api/board/terrain", { body: { document: document as Record<string, unknown> } }),
      );
      if (turn === this.turn) this.picture = picture as TerrainPicture;
    } catch {
      if (turn === this.turn) this.picture = null;
    }
  }
}
