/** Eight simulated hours with seven page clients coming and going: the memory curve; and a minute in real time. */
import { spawn } from 'node:child_process';
import { get, type IncomingMessage } from 'node:http';
import { resolve } from 'node:path';
import { createInterface } from 'node:readline';
import { pathToFileURL } from 'node:url';

export interface Hour {
  readonly hour: number;
  readonly rssMb: number;
  readonly heapMb: number;
  readonly heapTotalMb: number;
  readonly externalMb: number;
  readonly samples: number;
}

export interface MemoryResult {
  readonly hours: readonly Hour[];
  readonly answersGiven: number;
  readonly answersKept: number;
  readonly recordedSamples: number;
  readonly captureMb: number;
  readonly clientsSeen: number;
}

export interface PaceResult {
  readonly seconds: number;
  readonly cpuPct: number;
  readonly delayP99Ms: number;
  readonly delayMaxMs: number;
  readonly rssMb: number;
  readonly samples: number;
  readonly pages?: number;
}

const CLIENTS = 7;

/** @param built the compiled memory-child.js */
export async function memoryCurve(built: string, hours: number): Promise<MemoryResult> {
  const lines: Record<string, number>[] = [];
  const clients = new Clients();
  await runChild(built, ['hours', String(hours)], (line) => {
    if (typeof line.url === 'string') clients.start(line.url);
    else {
      lines.push(line as Record<string, number>);
      if ('hour' in line)
        process.stderr.write(
          `  ${(line.hour as number).toFixed(2)} h: ${(line.rssMb as number).toFixed(0)} MB resident\n`,
        );
    }
  });
  clients.stop();
  const end = lines.pop() as unknown as Omit<MemoryResult, 'hours' | 'clientsSeen'>;
  return { hours: lines as unknown as Hour[], ...end, clientsSeen: clients.seen };
}

export async function realPace(built: string, seconds: number): Promise<PaceResult> {
  let result: PaceResult | null = null;
  const clients = new Clients();
  await runChild(built, ['seconds', String(seconds)], (line) => {
    if (typeof line.url === 'string') clients.start(line.url);
    else result ??= line as unknown as PaceResult;
  });
  clients.stop();
  if (!result) throw new Error('the daemon said nothing');
  return { ...(result as PaceResult), pages: CLIENTS };
}

async function runChild(
  built: string,
  args: readonly string[],
  onLine: (line: Record<string, unknown>) => void,
): Promise<void> {
  // Before the program is loaded, as a daemon does it: room for young objects once given is kept.
  const limits = pathToFileURL(resolve(built, '../../../src/cli/lean.js')).href;
  const child = spawn(process.execPath, ['--import', limits, resolve(built), 'serve', ...args], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  const ended = new Promise<number | null>((done) => child.once('close', done));
  for await (const line of createInterface({ input: child.stdout })) onLine(JSON.parse(line));
  if ((await ended) !== 0) throw new Error(`the daemon ended with ${child.exitCode ?? child.signalCode}`);
}

/** Pages that read the stream; each goes after a while and another comes; two of them read nothing at all. */
class Clients {
  seen = 0;
  #stopped = false;
  readonly #open = new Set<IncomingMessage>();

  start(url: string): void {
    for (let i = 0; i < CLIENTS; i++) this.#join(url, i);
  }

  stop(): void {
    this.#stopped = true;
    for (const res of this.#open) res.destroy();
  }

  #join(url: string, i: number): void {
    if (this.#stopped) return;
    const again = (): void => {
      setTimeout(() => this.#join(url, i), 300);
    };
    get(`${url}api/stream`, (res) => {
      this.seen++;
      this.#open.add(res);
      if (i >= 2) res.resume();
      res.on('close', () => {
        this.#open.delete(res);
        again();
      });
      res.on('error', () => undefined);
      setTimeout(() => res.destroy(), 2000 + 700 * i).unref();
    }).on('error', again);
  }
}
