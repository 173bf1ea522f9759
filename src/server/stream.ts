/** The live stream to the pages: server-sent events, one bounded queue a page, newest values first for slow ones. */
import { randomUUID } from 'node:crypto';
import type { ServerResponse } from 'node:http';
import { pipeline, type Writable } from 'node:stream';
import { createGzip, type ZlibOptions, constants as zlib } from 'node:zlib';
import type { Clock, Timer } from '../core/clock.ts';
import type { DaemonApi, SeriesView, StreamEvents } from '../desk/api.ts';
import { Trail } from '../desk/trail.ts';

const BEAT_MS = 5000;
/** A page that takes nothing for this long is cut; it reconnects by itself when it lives again. */
const STALLED_US = 60e6;
const MAX_CLIENTS = 32;
/** Of these: for the page itself, whatever other programs listen. */
const FOR_PAGES = 8;
/** What must not be lost (spoken findings, marks) waits here for a slow page; beyond it the page is cut. */
const MAX_WAITING = 200;

/** Fans the daemon's events out to every page. */
export class StreamHub {
  readonly trail = new Trail();
  readonly #instance = randomUUID();
  /** By the name that its page was greeted with. */
  readonly #clients = new Map<string, Client>();
  readonly #api: DaemonApi;
  readonly #clock: Clock;
  readonly #unsubscribe: () => void;
  #others = 0;
  #beat: Timer;
  #runId: string | null;

  constructor(api: DaemonApi, clock: Clock) {
    this.#api = api;
    this.#clock = clock;
    this.#runId = api.state().run?.id ?? null;
    this.#unsubscribe = api.subscribe((event, data) => this.#onEvent(event, data));
    this.#beat = clock.after(BEAT_MS, () => this.#onBeat());
  }

  /**
   * Takes over the response; false when there are too many already.
   * @param own the page, not another program
   * @param packs as gzip: the views say much again and again, so that an eighteenth of the bytes is left
   */
  add(res: ServerResponse, own = true, packs = false): boolean {
    if (this.#clients.size >= MAX_CLIENTS) return false;
    if (!own && this.#others >= MAX_CLIENTS - FOR_PAGES) return false;
    if (!own) this.#others++;
    // It ends with its connection, so an event is one write: chunks would make four of it.
    res.useChunkedEncodingByDefault = false;
    res.writeHead(200, {
      'content-type': 'text/event-stream',
      'cache-control': 'no-store',
      'x-accel-buffering': 'no',
      ...(packs ? { 'content-encoding': 'gzip' } : {}),
    });
    const client = new Client(packs ? packedInto(res) : res, this.#clock);
    const page = randomUUID();
    this.#clients.set(page, client);
    res.on('close', () => {
      this.#clients.delete(page);
      if (!own) this.#others--;
    });
    const hello = { instance: this.#instance, page };
    client.send('hello', hello, frame('hello', hello));
    const state = this.#api.state();
    client.send('state', state, frame('state', state));
    const view = this.trail.latest();
    if (view) client.send('view', view, frame('view', view));
    return true;
  }

  /** Whether anybody sees the page. @returns false of a page that is not there */
  hide(page: string, hidden: boolean): boolean {
    const client = this.#clients.get(page);
    client?.hide(hidden);
    return client !== undefined;
  }

  close(): void {
    this.#unsubscribe();
    this.#beat.cancel();
    for (const client of this.#clients.values()) client.end();
    this.#clients.clear();
  }

  #onEvent<K extends keyof StreamEvents>(event: K, data: StreamEvents[K]): void {
    if (event === 'state') this.#followRun((data as StreamEvents['state']).run?.id ?? null);
    this.#send(event, data);
    if (event === 'view') {
      const news = this.trail.add(data as StreamEvents['view']);
      if (news) this.#send('trail', news);
    }
  }

  #followRun(id: string | null): void {
    // A run that ended keeps its trail until the next begins, so that the page can still be reloaded.
    if (id !== null && id !== this.#runId) this.trail.reset();
    if (id !== null) this.#runId = id;
  }

  #send(event: string, data: unknown): void {
    if (this.#clients.size === 0) return;
    const text = frame(event, data);
    for (const client of this.#clients.values()) client.send(event, data, text);
  }

  #onBeat(): void {
    for (const client of this.#clients.values()) {
      if (client.stalledUs() > STALLED_US) client.cut();
      else client.send('beat', {}, frame('beat', {}));
    }
    this.#beat = this.#clock.after(BEAT_MS, () => this.#onBeat());
  }
}

/**
 * One page. While its socket is full only the newest of each kind is kept for it; while nobody sees it, it gets those of
 * samples and views with each state, about once a second: what it says aloud hangs on them.
 */
class Client {
  readonly #to: Writable;
  readonly #clock: Clock;
  #blockedAtUs: number | null = null;
  readonly #newest = new Map<string, string>();
  #samples: Record<string, SeriesView[string]> = {};
  #waiting: string[] = [];
  #spared = false;
  #hidden = false;

  constructor(to: Writable, clock: Clock) {
    this.#to = to;
    this.#clock = clock;
    to.on('drain', () => this.#onDrain());
    to.on('error', () => this.cut());
  }

  send(event: string, data: unknown, text: string): void {
    const blocked = this.#blockedAtUs !== null;
    if (event === 'samples' && (blocked || this.#hidden)) this.#keepNewest(data as SeriesView);
    else if (event === 'trail' && (blocked || this.#hidden)) this.#spared = true;
    else if (event === 'view' && this.#hidden) this.#newest.set(event, text);
    else if (!blocked) {
      this.#write(text);
      if (event === 'state' && this.#hidden && this.#blockedAtUs === null) this.#flush();
    } else if (event === 'spoken' || event === 'mark') this.#wait(text);
    else this.#newest.set(event, text);
  }

  hide(hidden: boolean): void {
    this.#hidden = hidden;
    if (!hidden && this.#blockedAtUs === null) this.#flush();
  }

  stalledUs(): number {
    return this.#blockedAtUs === null ? 0 : this.#clock.nowUs() - this.#blockedAtUs;
  }

  end(): void {
    this.#to.end();
  }

  cut(): void {
    this.#to.destroy();
  }

  #write(text: string): void {
    if (!this.#to.write(text)) this.#blockedAtUs = this.#clock.nowUs();
  }

  #keepNewest(samples: SeriesView): void {
    this.#spared = true;
    for (const [signal, { t, v }] of Object.entries(samples))
      if (t.length > 0) this.#samples[signal] = { t: t.slice(-1), v: v.slice(-1) };
  }

  #wait(text: string): void {
    this.#waiting.push(text);
    if (this.#waiting.length > MAX_WAITING) this.cut();
  }

  #onDrain(): void {
    this.#blockedAtUs = null;
    this.#flush();
  }

  #flush(): void {
    const parts = [...this.#waiting, ...this.#newest.values()];
    if (Object.keys(this.#samples).length > 0) parts.push(frame('samples', this.#samples));
    // what nobody sees is fetched when somebody does
    if (this.#spared && !this.#hidden) {
      parts.push(frame('resync', {}));
      this.#spared = false;
    }
    this.#waiting = [];
    this.#newest.clear();
    this.#samples = {};
    if (parts.length > 0) this.#write(parts.join(''));
  }
}

/**
 * Each write goes out at once (RFC 1951 §3.2.4: an empty block ends it). What may wait before it counts as full, chosen
 * by hand: views and samples of a moment are packed one after the other. (Node's types know streams' options not here.)
 */
const PACKING: ZlibOptions & { readonly highWaterMark: number } = {
  flush: zlib.Z_SYNC_FLUSH,
  highWaterMark: 64 * 1024,
};

/** Either end goes with the other. */
function packedInto(res: ServerResponse): Writable {
  const gzip = createGzip(PACKING);
  pipeline(gzip, res, () => undefined);
  return gzip;
}

function frame(event: string, data: unknown): string {
  return `event: ${event}\ndata: ${JSON.stringify(data)}\n\n`;
}
