import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { defineConfig, type Plugin } from "vite";

const here = (path: string): string => fileURLToPath(new URL(path, import.meta.url));

/** Collects the icons named in icons.json into one file; a page shows one by `<use href="icons.svg#name">`. */
function iconSheet(): Plugin {
  return {
    name: "icon-sheet",
    generateBundle() {
      const names: string[] = JSON.parse(readFileSync(here("icons.json"), "utf-8"));
      const symbols = names.map((name) => {
        const drawn = readFileSync(here(`node_modules/lucide-static/icons/${name}.svg`), "utf-8");
        const inside = drawn.slice(drawn.indexOf(">", drawn.indexOf("<svg")) + 1, drawn.lastIndexOf("</svg>"));
        return `<symbol id="${name}" viewBox="0 0 24 24">${inside.replace(/\s+/g, " ").trim()}</symbol>`;
      });
      const source = `<svg xmlns="http://www.w3.org/2000/svg">${symbols.join("")}</svg>\n`;
      this.emitFile({ type: "asset", fileName: "icons.svg", source });
    },
  };
}

/** Puts the licences of what the built files hold beside them. */
function licences(): Plugin {
  const packages: string[] = Object.keys(JSON.parse(readFileSync(here("package.json"), "utf-8")).dependencies);
  const text = (name: string): string => readFileSync(here(`node_modules/${name}/LICENSE`), "utf-8").trim();
  return {
    name: "licences",
    generateBundle() {
      const source = packages.map((name) => `${name}\n\n${text(name)}\n`).join("\n\n");
      this.emitFile({ type: "asset", fileName: "licences.txt", source });
    },
  };
}

export default defineConfig({
  plugins: [iconSheet(), licences()],
  base: "./",
  publicDir: false,
  build: {
    outDir: here("../../src/proveout/web/static"),
    emptyOutDir: true,
    assetsInlineLimit: 0,
    cssCodeSplit: true,
    target: "es2022",
    modulePreload: { polyfill: false },
    rollupOptions: {
      // htmx can evaluate expressions; the page forbids it that (`allowEval`), and the content policy does too.
      onwarn: (warning, say) => (warning.code === "EVAL" ? undefined : say(warning)),
      // One entry for each script that a page may ask for by name; the server adds the fingerprint to the address.
      input: { page: here("src/page.ts"), capture: here("src/capture.ts") },
      output: {
        entryFileNames: "[name].js",
        chunkFileNames: "[name]-[hash].js",
        assetFileNames: "[name][extname]",
      },
    },
  },
});
