import { defineConfig } from 'vite';

/** What every place begins with, in one file: small files are packed worse, and each is one more to ask for. */
const FIRST = /web\/(axis|keys|marks|start|strips|verdict|paint)\.tsx?$/;

/** The page: built from web/ into dist/web, where the daemon serves it from. */
export default defineConfig({
  root: 'web',
  base: './',
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: '../dist/web',
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0,
    rolldownOptions: { output: { codeSplitting: { groups: [{ name: 'first', test: FIRST }] } } },
  },
});
