import { defineConfig } from 'vite';

/**
 * The command line in a few files, beside the rooms that it is made of: opening some five hundred modules one by one is half of
 * what a short command, or a thread, takes. Packages with native parts, or that begin threads of their own, stay outside.
 */
export default defineConfig({
  publicDir: false,
  build: {
    ssr: true,
    outDir: 'dist/src/program',
    emptyOutDir: true,
    target: 'node20',
    minify: false,
    rolldownOptions: {
      input: {
        main: 'src/cli/main.ts',
        'gather-one': 'src/cli/gather-one.ts',
        'judge-one': 'src/cli/judge-one.ts',
        'ahead-worker': 'src/desk/ahead-worker.ts',
        'reading-worker': 'src/desk/reading-worker.ts',
      },
      output: { entryFileNames: '[name].js', chunkFileNames: '[name]-[hash].js' },
    },
  },
  ssr: {
    noExternal: true,
    external: ['@duckdb/node-api', 'koffi', 'pino', 'playwright-core', 'serialport', 'tinypool'],
  },
});
