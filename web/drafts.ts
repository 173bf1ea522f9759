/**
 * What was typed and is not with the daemon yet, kept in this browser letter by letter: a lost connection, a reload or
 * a closed tab takes nothing away. Each tab keeps its own; those of tabs that are gone are taken over.
 */

export interface Draft {
  readonly text: string;
  /** What the field held when typing began, as the daemon said it. */
  readonly was: unknown;
}

interface Kept extends Draft {
  readonly atMs: number;
}

const PREFIX = 'handback.draft/';
const keyOf = (page: string, field: string): string => `${PREFIX}${page}/${tab}/${field}`;
/** Where the browser does not tell which tabs live: what nobody touched for so long is nobody's. */
const NOBODYS_MS = 60_000;

const tab = ownTab();

function ownTab(): string {
  const fresh = () => crypto.getRandomValues(new Uint32Array(2)).join('-');
  try {
    // A tab that was opened as a copy of another has the other's storage, and is told apart by how it came.
    const [how] = performance.getEntriesByType('navigation') as PerformanceNavigationTiming[];
    const known = how?.type === 'navigate' ? null : sessionStorage.getItem('handback.tab');
    const id = known ?? fresh();
    sessionStorage.setItem('handback.tab', id);
    return id;
  } catch {
    return fresh(); // storage may be forbidden
  }
}

/** Held as long as the tab lives: that is how the others know. Only a page of a safe origin may ask. */
const locks = (navigator as Partial<Navigator>).locks;
locks?.request(`handback.tab.${tab}`, () => new Promise(() => undefined)).catch(() => undefined);

async function living(): Promise<ReadonlySet<string> | null> {
  const held = await locks?.query().catch(() => null);
  return held ? new Set(held.held?.map((l) => (l.name ?? '').replace('handback.tab.', ''))) : null;
}

/** Before the fields of a page are shown: takes over what was typed in tabs that are gone. */
export async function takeOverDrafts(page: string): Promise<void> {
  const alive = await living();
  try {
    const start = `${PREFIX}${page}/`;
    const keys = Object.keys(localStorage).filter((k) => k.startsWith(start));
    for (const key of keys) {
      const [of = '', ...rest] = key.slice(start.length).split('/');
      const field = rest.join('/');
      const draft = parsed(localStorage.getItem(key));
      if (of === tab || !draft) continue;
      const gone = alive ? !alive.has(of) : Date.now() - draft.atMs > NOBODYS_MS;
      // Where two were left of one field the second waits for the next time.
      if (!gone || localStorage.getItem(keyOf(page, field)) !== null) continue;
      localStorage.setItem(keyOf(page, field), JSON.stringify(draft));
      localStorage.removeItem(key);
    }
  } catch {
    // storage may be forbidden: then drafts live as long as the page
  }
}

export function draftOf(page: string, field: string): Draft | null {
  try {
    return parsed(localStorage.getItem(keyOf(page, field)));
  } catch {
    return null;
  }
}

/** @returns whether this browser keeps it */
export function keepDraft(page: string, field: string, draft: Draft): boolean {
  try {
    const kept: Kept = { ...draft, atMs: Date.now() };
    localStorage.setItem(keyOf(page, field), JSON.stringify(kept));
    return true;
  } catch {
    return false;
  }
}

export function dropDraft(page: string, field: string): void {
  try {
    localStorage.removeItem(keyOf(page, field));
  } catch {
    // nothing is kept then
  }
}

function parsed(json: string | null): Kept | null {
  try {
    const draft = JSON.parse(json ?? 'null') as Partial<Kept> | null;
    return typeof draft?.text === 'string'
      ? { text: draft.text, was: draft.was, atMs: Number(draft.atMs) || 0 }
      : null;
  } catch {
    return null;
  }
}
