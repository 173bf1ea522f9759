/** The HTTP face of the daemon: the built page, a JSON API and the live stream. Routes are in docs/http-api.md. */

import { existsSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { networkInterfaces } from 'node:os';
import { join } from 'node:path';
import express, { type ErrorRequestHandler, type Express } from 'express';
import helmet from 'helmet';
import { z } from 'zod';
import { families } from '../adapter/dialects.ts';
import { type Clock, systemClock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { type ErrorCode, HandbackError, toldOf } from '../core/errors.ts';
import { profileSchema } from '../core/profile.ts';
import { isSays, retold } from '../core/says.ts';
import type {
  ConnectRequest,
  DaemonApi,
  InviteView,
  MarkRequest,
  NetworkView,
  SeriesRange,
  StartRunRequest,
} from '../desk/api.ts';
import type { HouseApi } from '../desk/house-api.ts';
import type { JobsApi } from '../desk/jobs-api.ts';
import type { KindsApi } from '../desk/kinds-api.ts';
import { PURPOSES } from '../run/types.ts';
import { spelled } from '../words/spelled.ts';
import { makeRoom } from './connections.ts';
import { deliberate, Invites, isLoopback, isOwnPage, sameHost, tokenNeeded } from './guard.ts';
import { houseRoutes } from './house.ts';
import { jobRoutes } from './jobs.ts';
import { kindRoutes } from './kinds.ts';
import { checked, goneSignal, send, withoutUndefined } from './requests.ts';
import { type SheetsApi, sheetRoutes } from './sheet.ts';
import { StreamHub } from './stream.ts';

export interface ServerOptions {
  readonly api: DaemonApi;
  /** Absent: the routes of jobs answer that there is nothing. */
  readonly jobs?: JobsApi;
  /** Absent: likewise those of kinds and the pool. */
  readonly kinds?: KindsApi;
  /** Absent: the routes of hand-over sheets answer that there is nothing. */
  readonly sheets?: SheetsApi;
  /** Absent: the page offers nothing about the program itself. */
  readonly house?: HouseApi;
  /** Address to listen on; anything but loopback needs `token`. */
  readonly host: string;
  /** 0 picks a free one. */
  readonly port: number;
  /** Folder with the built page. */
  readonly webRoot: string;
  readonly token?: string;
  readonly clock?: Clock;
  /** Told of errors that a request could not be answered for; the page sees only a sentence. */
  readonly onError?: (error: unknown) => void;
}

export interface RunningServer {
  /** What to open in a browser on this computer, token included. */
  readonly url: string;
  /** The same for other devices; empty on the loopback. */
  readonly elsewhere: readonly string[];
  close(): Promise<void>;
}

/** Rejects with input.usage when the address cannot be listened on or is open to others without a token. */
export async function startServer(options: ServerOptions): Promise<RunningServer> {
  const { host, port, token } = options;
  if (!isLoopback(host) && !token)
    throw new HandbackError('input.usage', saying('error.token-needed', { host }), {
      hint: saying('error.token-needed-hint'),
    });
  const clock = options.clock ?? systemClock;
  const hub = new StreamHub(options.api, clock);
  const door: Door = { invites: new Invites(clock), addresses: [] };
  const server = createServer(
    { headersTimeout: 10_000, requestTimeout: 20_000, connectionsCheckingInterval: 5_000 },
    buildApp(options, hub, door) as Parameters<typeof createServer>[1],
  );
  makeRoom(server);
  try {
    await listen(server, host, port);
  } catch (cause) {
    hub.close();
    throw new HandbackError(
      'input.usage',
      saying('error.not-listening', { host, port: String(port), why: toldOf(cause) }),
      {
        hint: saying('error.not-listening-hint'),
        cause,
      },
    );
  }
  const { port: actual } = server.address() as AddressInfo;
  const query = token ? `?token=${encodeURIComponent(token)}` : '';
  door.addresses = isLoopback(host) ? [] : addressesOf(host, actual);
  const everywhere = host === '0.0.0.0' || host === '::';
  return {
    url: `http://${everywhere ? 'localhost' : named(host)}:${actual}/${query}`,
    elsewhere: door.addresses.map((address) => `${address}${query}`),
    close: () =>
      new Promise((resolve) => {
        hub.close();
        server.close(() => resolve());
        server.closeAllConnections();
      }),
  };
}

/** How other devices get in. */
interface Door {
  readonly invites: Invites;
  /** With a closing slash, without a token; empty on the loopback. */
  addresses: readonly string[];
}

/** Where other devices reach a server that listens on `host`. */
function addressesOf(host: string, port: number): string[] {
  const own = Object.values(networkInterfaces()).flatMap((of) => of ?? []);
  const names =
    host === '0.0.0.0' || host === '::'
      ? own.filter((a) => !a.internal && a.family === 'IPv4').map((a) => a.address)
      : [host];
  return names.map((name) => `http://${named(name)}:${port}/`);
}

const named = (host: string): string => (host.includes(':') ? `[${host}]` : host);

const connectBody = z.strictObject({
  link: z
    .string()
    .min(1)
    .max(300)
    .regex(/^[^\x00-\x1f\x7f]+$/, 'no control characters'),
  adapter: z
    .string()
    .refine((name) => name === 'auto' || families().includes(name), 'no known kind of adapter')
    .optional(),
  baud: z.int().min(300).max(4_000_000).optional(),
});
const receiverBody = z.strictObject({ port: connectBody.shape.link.nullable() });
const startBody = z.strictObject({
  purpose: z.enum(PURPOSES),
  job: z
    .string()
    .regex(/^[a-z0-9-]{1,80}$/, 'the id of a job')
    .optional(),
  vehicle: z.string().max(200).optional(),
  complaint: z.string().max(4000).optional(),
  profile: profileSchema.optional(),
});
const markBody = z.strictObject({
  key: z.string().regex(/^[A-Z]$/, 'one capital letter'),
  text: z.string().max(500).optional(),
});
const markEditBody = z.strictObject({
  tS: z.number().min(0).max(1e7),
  key: z.string().regex(/^[A-Z]$/, 'one capital letter'),
  text: z.string().max(500),
  removed: z.boolean(),
});
const nothing = z.strictObject({});
const hiddenBody = z.strictObject({ page: z.uuid(), hidden: z.boolean() });
const seconds = z.coerce.number().min(0).max(1e9).optional();
const seriesQuery = z.strictObject({
  points: z.coerce.number().int().min(10).max(50_000).default(4000),
  from: seconds,
  to: seconds,
});
const runId = z.string().regex(/^[A-Za-z0-9_-]{1,128}$/, 'letters, digits, _ and - only');
/** One run or several of each side. */
const runIds = z.union([runId.transform((id) => [id]), z.array(runId).min(1).max(12)]);
const compareQuery = z.strictObject({
  before: runIds,
  after: runIds,
  'come-back': runIds.default([]),
  margin: z.coerce.number().min(0.1).max(50).optional(),
});

function buildApp(options: ServerOptions, hub: StreamHub, door: Door): Express {
  const { api } = options;
  const app = express();
  app.disable('x-powered-by');
  app.disable('etag'); // of answers that change all the time, at the cost of a digest each; the page's files have their own
  app.set('query parser', 'simple');
  app.enable('case sensitive routing'); // one spelling: what guards a path guards all of it
  app.use(
    helmet({
      contentSecurityPolicy: {
        useDefaults: false,
        directives: {
          defaultSrc: ["'none'"],
          scriptSrc: ["'self'"],
          styleSrc: ["'self'"],
          imgSrc: ["'self'", 'data:'],
          connectSrc: ["'self'"],
          baseUri: ["'none'"],
          formAction: ["'none'"],
          frameAncestors: ["'none'"],
        },
      },
      strictTransportSecurity: false, // plain HTTP on the loopback
    }),
  );
  app.use(sameHost(options.host));
  if (options.token) app.use(tokenNeeded(options.token, door.invites));
  app.use('/api', deliberate, (_req, res, next) => {
    res.set('cache-control', 'no-store');
    next();
  });
  app.use('/api', express.json({ limit: '64kb', type: 'application/json' }));

  app.get('/api/state', (_req, res) => void res.json(api.state()));
  app.get('/api/ports', async (_req, res) => void res.json(await api.ports()));
  app.get('/api/runs', async (_req, res) => void res.json(await api.runs()));
  app.get('/api/runs/:id', async (req, res) => {
    send(res, await api.run(checked(runId, req.params.id, 'run'), goneSignal(res)));
  });
  app.get('/api/runs/:id/series', async (req, res) => {
    const id = checked(runId, req.params.id, 'run');
    const { points, from, to } = checked(seriesQuery, req.query, '');
    const range = withoutUndefined<SeriesRange>({ points, fromS: from, toS: to });
    send(res, await api.series(id, range, goneSignal(res)));
  });
  app.get('/api/compare', async (req, res) => {
    const { before, after, 'come-back': comeBack, margin } = checked(compareQuery, req.query, '');
    const request = { before, after, comeBack, ...(margin === undefined ? {} : { marginPct: margin }) };
    send(res, await api.compare(request, goneSignal(res)));
  });
  app.get('/api/under-way', (_req, res) => void res.json(api.underWay()));
  app.get('/api/run/series', (req, res) => {
    const { points, from, to } = checked(seriesQuery, req.query, '');
    res.json(api.liveSeries(points, from, to));
  });
  app.get('/api/run/spoken', (_req, res) => void res.json(api.spoken()));
  app.get('/api/run/trail', (_req, res) => void res.json(hub.trail.whole()));
  app.get('/api/stream', (req, res) => {
    if (req.method === 'HEAD') return void res.status(405).end();
    if (!hub.add(res, isOwnPage(req, options.host)))
      res.status(503).json({ error: 'Too many pages are open.', hint: 'Close some of them.' });
  });
  app.post('/api/stream/hidden', (req, res) => {
    const { page, hidden } = checked(hiddenBody, req.body, '');
    if (hub.hide(page, hidden)) res.json({});
    else res.status(404).json({ error: 'This stream is not open.', hint: 'Open it again.' });
  });

  app.get('/api/network', (_req, res) => {
    const view: NetworkView = { addresses: door.addresses };
    res.json(view);
  });
  app.post('/api/invite', (req, res) => {
    checked(nothing, req.body, '');
    if (door.addresses.length === 0)
      throw new HandbackError('input.usage', saying('error.own-computer'), {
        hint: saying('error.own-computer-hint'),
      });
    const { code, validS } = door.invites.make();
    const invite: InviteView = { urls: door.addresses.map((a) => `${a}?token=${code}`), validS };
    res.json(invite);
  });

  app.post('/api/connect', async (req, res) => {
    await api.connect(withoutUndefined<ConnectRequest>(checked(connectBody, req.body, '')));
    res.json(api.state());
  });
  app.post('/api/disconnect', async (req, res) => {
    checked(nothing, req.body, '');
    await api.disconnect();
    res.json(api.state());
  });
  app.post('/api/receiver', async (req, res) => {
    await api.useReceiver(checked(receiverBody, req.body, ''));
    res.json(api.state());
  });
  app.post('/api/run', async (req, res) => {
    const body = checked(startBody, req.body, '');
    res.json(await api.startRun(withoutUndefined<StartRunRequest>(body)));
  });
  app.post('/api/run/stop', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await api.stopRun());
  });
  app.post('/api/marks', async (req, res) => {
    res.json(await api.mark(withoutUndefined<MarkRequest>(checked(markBody, req.body, ''))));
  });
  app.post('/api/runs/:id/marks', async (req, res) => {
    const id = checked(runId, req.params.id, 'run');
    const edit = checked(markEditBody, req.body, '');
    await api.editMark(id, edit);
    res.json(edit);
  });
  if (options.jobs) app.use('/api', jobRoutes(options.jobs));
  if (options.kinds) app.use('/api', kindRoutes(options.kinds));
  if (options.sheets) app.use('/api', sheetRoutes(options.sheets));
  app.use('/api', houseRoutes(options.house));
  app.use('/api', (_req, res) => void res.status(404).json({ error: 'There is nothing here.', hint: null }));

  servePage(app, options.webRoot);
  app.use(answerError(options.onError));
  return app;
}

function servePage(app: Express, webRoot: string): void {
  app.use(
    express.static(webRoot, {
      setHeaders(res, path) {
        // Built assets carry their hash in the name; the page itself must always be asked for anew.
        const lasting = /[\\/]assets[\\/]/.test(path);
        res.setHeader('cache-control', lasting ? 'public, max-age=31536000, immutable' : 'no-cache');
      },
    }),
  );
  app.use((_req, res) => {
    if (existsSync(join(webRoot, 'index.html'))) res.status(404).type('text').send('There is nothing here.');
    else res.status(503).type('text').send('The page has not been built yet. Run: npm run build');
  });
}

const STATUS: Partial<Record<ErrorCode, number>> = {
  'library.path': 404,
  'library.read-only': 409,
  'run.busy': 409,
  'link.busy': 409,
  'gate.refused': 403,
  'run.write': 507,
  internal: 500,
};

function statusOf(code: ErrorCode): number {
  const layer = code.split('.')[0];
  return STATUS[code] ?? (layer === 'input' ? 400 : 502);
}

function answerError(onError: ServerOptions['onError']): ErrorRequestHandler {
  return (error: unknown, _req, res, next) => {
    if (res.closed) return; // given up by the asker
    if (res.headersSent) return void next(error);
    if (error instanceof HandbackError) {
      const { message, hint, code, told } = error;
      const says = {
        ...(isSays(told.message) ? { error: retold(told.message, withoutFolders) } : {}),
        ...(isSays(told.hint) ? { hint: retold(told.hint, withoutFolders) } : {}),
      };
      res.status(statusOf(code)).json({
        error: withoutFolders(message),
        hint: hint && withoutFolders(hint),
        ...(Object.keys(says).length > 0 ? { says } : {}),
      });
      return;
    }
    const status = (error as { status?: unknown } | null)?.status;
    if (typeof status === 'number' && status >= 400 && status < 500) {
      const { limit } = error as { limit?: unknown };
      const text =
        status === 413 && typeof limit === 'number'
          ? saying('request.large', { most: sizeOf(limit) })
          : saying('request.unreadable');
      res.status(status).json(spelled({ error: text, hint: null }));
      return;
    }
    onError?.(error);
    res.status(500).json({
      error: 'Something went wrong inside Handback.',
      hint: 'What was recorded so far is kept. Try again; if it stays, restart Handback.',
    });
  };
}

function sizeOf(bytes: number): string {
  const mb = bytes / 2 ** 20;
  return mb >= 1 ? `${Math.round(mb)} MB` : `${Math.round(bytes / 1024)} kB`;
}

/** Ports keep their name, everything else loses its folders: a page has no business with them. */
function withoutFolders(text: string): string {
  return text.replace(/(?<![\w/])(?!\/dev\/)(?:[A-Za-z]:)?(?:[\\/][^\s\\/:'"]+)+[\\/]([^\s\\/:'"]+)/g, '$1');
}

function listen(server: Server, host: string, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, host, () => {
      server.off('error', reject);
      resolve();
    });
  });
}
