/** Which strips are shown, in which order, how tall, with which second signal, and the part of their scale that is seen. */
import { signal } from '@preact/signals';
import { keep, keptText } from './kept.ts';

export interface Layout {
  readonly hidden: readonly string[];
  /** Ids of strips, from the top; those it does not name keep their usual place behind it. */
  readonly order: readonly string[];
  /** Times the usual height. */
  readonly grow: Readonly<Record<string, number>>;
  /** A second signal on a strip. */
  readonly second: Readonly<Record<string, string>>;
}

const PLAIN: Layout = { hidden: [], order: [], grow: {}, second: {} };

export const layout = signal<Layout>(remembered());
/** Parts of y scales that someone zoomed to, in the units of the catalogue; they hold for this visit. */
export const yRanges = signal<Readonly<Record<string, readonly [number, number]>>>({});

function remembered(): Layout {
  try {
    const read = JSON.parse(keptText('layout') ?? '{}') as Partial<Layout>;
    const { hidden = [], order = [], grow = {}, second = {} } = read;
    if (!Array.isArray(hidden) || !Array.isArray(order)) return PLAIN;
    return { hidden, order, grow: { ...grow }, second: { ...second } };
  } catch {
    return PLAIN;
  }
}

export function setLayout(next: Partial<Layout>): void {
  layout.value = { ...layout.value, ...next };
  keep('layout', JSON.stringify(layout.value));
}

export function resetLayout(): void {
  yRanges.value = {};
  setLayout(PLAIN);
}

/** @param range null shows all of the scale again */
export function setY(id: string, range: readonly [number, number] | null): void {
  const { [id]: _, ...others } = yRanges.value;
  yRanges.value = range === null ? others : { ...others, [id]: range };
}

/** The strips that are seen, in their order. */
export function arranged<S extends { readonly id: string }>(strips: readonly S[]): S[] {
  const { order, hidden } = layout.value;
  const place = (s: S) => (order.includes(s.id) ? order.indexOf(s.id) : order.length);
  return strips.filter((s) => !hidden.includes(s.id)).sort((a, b) => place(a) - place(b));
}
