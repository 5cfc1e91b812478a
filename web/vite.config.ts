import { createHash } from "node:crypto";
import { svelte } from "@sveltejs/vite-plugin-svelte";
import type { Plugin } from "vite";
import { defineConfig } from "vitest/config";

/** Tell the service worker the names of the built files, so that a new build makes a new worker. */
function keptFiles(): Plugin {
  return {
    name: "kept-files",
    apply: "build",
    enforce: "post",
    generateBundle(_options, bundle) {
      const service = bundle["service.js"];
      if (service?.type !== "chunk") throw new Error("the build has no service.js");
      const files = Object.keys(bundle).filter((name) => name !== "service.js" && !name.endsWith(".map"));
      const hash = createHash("sha256");
      for (const one of Object.values(bundle)) hash.update(one.type === "chunk" ? one.code : one.source);
      service.code = service.code
        .replaceAll("__FILES__", JSON.stringify(files.sort()))
        .replaceAll("__BUILD__", JSON.stringify(hash.digest("hex").slice(0, 12)));
    },
  };
}

// The build goes into the Python package, which serves it; `base` keeps every address relative.
export default defineConfig({
  base: "./",
  plugins: [svelte(), keptFiles()],
  build: {
    outDir: "../src/rillwright/page",
    emptyOutDir: true,
    target: "es2022",
    assetsInlineLimit: 0,
    rollupOptions: {
      input: { main: "index.html", service: "src/service/worker.ts" },
      output: { entryFileNames: ({ name }) => (name === "service" ? "service.js" : "assets/[name]-[hash].js") },
    },
  },
  server: { proxy: { "/api": "http://127.0.0.1:8765" } },
  test: { include: ["src/**/*.test.ts"] },
});
