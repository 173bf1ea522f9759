/** Ports of this computer: which is free, and whether another Handback has one. */
import { createServer } from 'node:net';

/** After the one that was wanted; then whichever is free. */
const NEXT = 20;
const PROBE_MS = 2000;

/** The wanted port, or the next that is free; 0, any, where none of the next is. */
export async function freePort(host: string, wanted: number): Promise<number> {
  if (wanted === 0) return 0;
  for (let port = wanted; port <= Math.min(wanted + NEXT, 65_535); port++)
    if (await isFree(host, port)) return port;
  return 0;
}

function isFree(host: string, port: number): Promise<boolean> {
  return new Promise((resolve) => {
    const server = createServer();
    server.once('error', () => resolve(false));
    server.listen({ host, port, exclusive: true }, () => server.close(() => resolve(true)));
  });
}

/** Whether what answers there is a Handback; false where nothing answers in time. */
export async function isHandback(host: string, port: number): Promise<boolean> {
  try {
    const answer = await fetch(`http://${host.includes(':') ? `[${host}]` : host}:${port}/api/state`, {
      redirect: 'error',
      signal: AbortSignal.timeout(PROBE_MS),
    });
    const { version } = (await answer.json()) as { readonly version?: unknown };
    return typeof version === 'string';
  } catch {
    return false;
  }
}
