import { defineConfig } from 'vite';

/** The page: built from web/ into dist/web, where the daemon serves it from. */
export default defineConfig({
  root: 'web',
  base: './',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: { outDir: '../dist/web', emptyOutDir: true, target: 'es2022', assetsInlineLimit: 0 },
});
