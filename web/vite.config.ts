import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

// The build goes into the Python package, which serves it; `base` keeps every address relative.
export default defineConfig({
  base: "./",
  plugins: [svelte()],
  build: { outDir: "../src/rillwright/page", emptyOutDir: true, target: "es2022", assetsInlineLimit: 0 },
  server: { proxy: { "/api": "http://127.0.0.1:8765" } },
  test: { include: ["src/**/*.test.ts"] },
});
