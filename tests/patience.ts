/**
 * How long a test waits for what must come, ms. Not a measure of speed: it only ends a test that hangs. A computer
 * may be busy for minutes and everything must still pass; speed is measured by `npm run bench`.
 */
export const PATIENCE_MS = 300_000;
