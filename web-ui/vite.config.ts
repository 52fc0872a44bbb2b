/// <reference types="vitest/config" />
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vite';

import { shell } from './scripts/shell-plugin.mjs';

// Where `npm run dev` finds a running box: its address as `storypole serve` prints it.
const box = process.env['STORYPOLE_BOX'] ?? 'http://localhost:8417';

export default defineConfig(({ mode }) => ({
  // Unit tests of reactive modules follow effects, which only a browser's code has.
  plugins: [svelte(mode === 'test' ? { dynamicCompileOptions: () => ({ generate: 'client' }) } : {}), shell()],
  build: {
    target: 'es2022',
    // Nothing inline: the content security policy allows files of our own origin only.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    manifest: 'bundle.json',
    reportCompressedSize: false,
    // What every screen stands on comes in one file: on a slow phone each further one costs more than its bytes. Lists of records and
    // forms are for the screens that have some.
    rolldownOptions: {
      output: {
        codeSplitting: {
          // Else a part would take along what the ground and the first screen stand on.
          includeDependenciesRecursively: false,
          groups: [
            { name: 'ground', test: /node_modules\/(?:svelte|esm-env|idb|valibot|clsx)|src\/(?:api(?!\/came)|keep(?!\/(?:records|form))|habits)\/|src\/shell\/[a-z]+(?:\.svelte)?\.ts$|src\/model\/(?:print|locale|codes|draft|day\.lists|day\.shape|print\.shape|print\.words)\.ts$/ },
            // Small parts that many screens share: a file for each costs more than what it holds.
            { name: 'parts', test: /src\/(?:api\/came|photo\/making|look\/(?:submitting|stillHere))|src\/look\/(?:Scroll|NotSaved|OnlyRead|StageMark|Table|Choose)\.svelte|src\/model\/(?:label|field\.shape|files\.shape|unit|unit\.words)\.ts$/ },
          ],
        },
      },
    },
  },
  // The browser's build of Svelte, also for the unit tests of reactive modules.
  ...(mode === 'test' ? { resolve: { conditions: ['browser'] } } : {}),
  server: {
    proxy: {
      '/api': {
        target: box,
        changeOrigin: true,
        // The box takes requests of its own origin only; this is development on one computer.
        configure: (proxy) => proxy.on('proxyReq', (request) => request.setHeader('origin', new URL(box).origin)),
      },
    },
  },
  // Slow only where many things run at once.
  test: { include: ['unit/**/*.test.ts'], environment: 'node', testTimeout: 30_000 },
}));
