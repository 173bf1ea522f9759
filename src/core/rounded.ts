/** Numbers of findings are rounded once, where they are written down, to what their reading resolves. */

export const tenth = (x: number): number => Math.round(x * 10) / 10 + 0; // no −0
export const hundredth = (x: number): number => Math.round(x * 100) / 100 + 0;
