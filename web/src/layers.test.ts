import { readdirSync, readFileSync, statSync } from "node:fs";
import { join, relative } from "node:path";
import { expect, test } from "vitest";

// Imports point down: each folder may use itself and those after it.
const FLOORS: Record<string, readonly string[]> = {
  screens: ["screens", "route", "parts", "draw", "field", "document", "geometry", "api"],
  parts: ["parts", "document", "geometry", "api"],
  draw: ["draw", "document", "geometry", "api", "tables"],
  field: ["field", "document", "geometry", "api"],
  document: ["document", "geometry", "api"],
  geometry: ["geometry"],
  api: ["api"],
  service: ["service"], // a script of its own: it can share no part with the page
};

const root = import.meta.dirname;

function files(folder: string): string[] {
  return readdirSync(folder).flatMap((name) => {
    const path = join(folder, name);
    if (statSync(path).isDirectory()) return files(path);
    return /\.(ts|svelte)$/.test(name) && !name.endsWith(".d.ts") ? [path] : [];
  });
}

const TABLES = join(root, "../../src/rillwright/data"); // the program's own, read when the page is built
const floor = (path: string) => (path.startsWith(TABLES) ? "tables" : relative(root, path).split(/[/.]/)[0]!);

test.each(Object.keys(FLOORS))("%s imports only what lies below it", (name) => {
  for (const path of files(root).filter((one) => floor(one) === name)) {
    for (const [, target] of readFileSync(path, "utf8").matchAll(/(?:from|import)\s*\(?"(\.[^"]+)"/g)) {
      const used = floor(join(path, "..", target!));
      expect(FLOORS[name], `${relative(root, path)} imports ${target}`).toContain(used);
    }
  }
});
