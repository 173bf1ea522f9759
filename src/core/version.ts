/** The tool's version, written into runs, sheets and answers; kept equal to package.json by a test. */
export const VERSION = '0.1.0';
