/** A list that keeps its newest. */

/** A pull or a saying a minute for eight hours; the oldest go first. A bound, chosen by hand. */
const MOST_SHOWN = 500;

export function pushNewest<T>(list: T[], item: T): void {
  list.push(item);
  if (list.length > MOST_SHOWN) list.shift();
}
