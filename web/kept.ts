/** What this browser remembers of a choice. */

export function kept<T extends string>(name: string, allowed: readonly T[], otherwise: T): T {
  const value = keptText(name) as T | null;
  return value !== null && allowed.includes(value) ? value : otherwise;
}

export function keptText(name: string): string | null {
  try {
    return localStorage.getItem(`handback.${name}`);
  } catch {
    return null; // storage may be forbidden
  }
}

export function keep(name: string, value: string): void {
  try {
    localStorage.setItem(`handback.${name}`, value);
  } catch {
    // then it holds for this visit only
  }
}
