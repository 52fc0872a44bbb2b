import { vitePreprocess } from '@sveltejs/vite-plugin-svelte';

/** Runes everywhere; each screen keeps its styles in a CSS file of its own, so nothing is inlined. */
export default {
  preprocess: vitePreprocess({ script: false }),
  compilerOptions: { runes: true },
};
