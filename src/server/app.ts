/** What is answered at which path, and by what every request is guarded first. */

import { existsSync } from 'node:fs';
import { join } from 'node:path';
import express, { type Express } from 'express';
import helmet from 'helmet';
import type { DaemonApi } from '../desk/api.ts';
import type { HouseApi } from '../desk/house-api.ts';
import type { JobsApi } from '../desk/jobs-api.ts';
import type { KindsApi } from '../desk/kinds-api.ts';
import { answerError } from './answer-error.ts';
import { type Door, doorRoutes } from './door.ts';
import { deliberate, isLoopback, sameHost, tokenNeeded } from './guard.ts';
import { houseRoutes } from './house.ts';
import { jobRoutes } from './jobs.ts';
import { kindRoutes } from './kinds.ts';
import { liveRoutes } from './live.ts';
import { packed, wholeFiles } from './packed.ts';
import { runRoutes } from './runs.ts';
import { type SheetsApi, sheetRoutes } from './sheet.ts';
import type { StreamHub } from './stream.ts';

export interface AppOptions {
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
  /** Folder with the built page. */
  readonly webRoot: string;
  readonly token?: string;
  /** Told of errors that a request could not be answered for; the page sees only a sentence. */
  readonly onError?: (error: unknown) => void;
}

export function buildApp(options: AppOptions, hub: StreamHub, door: Door): Express {
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
  const packs = !isLoopback(options.host);
  if (packs) app.use(packed);
  app.use('/api', deliberate, (_req, res, next) => {
    res.set('cache-control', 'no-store');
    next();
  });
  app.use('/api', express.json({ limit: '64kb', type: 'application/json' }));

  app.use('/api', liveRoutes(options.api, hub, options.host));
  app.use('/api', runRoutes(options.api));
  app.use('/api', doorRoutes(door));
  if (options.jobs) app.use('/api', jobRoutes(options.jobs));
  if (options.kinds) app.use('/api', kindRoutes(options.kinds));
  if (options.sheets) app.use('/api', sheetRoutes(options.sheets));
  app.use('/api', houseRoutes(options.house));
  app.use('/api', (_req, res) => void res.status(404).json({ error: 'There is nothing here.', hint: null }));

  app.get('/', (_req, _res, next) => {
    options.api.pageFetched();
    next();
  });
  if (packs) app.get('/assets/:file', wholeFiles(join(options.webRoot, 'assets'), LASTING));
  servePage(app, options.webRoot);
  app.use(answerError(options.onError));
  return app;
}

/** Built assets carry their hash in the name. */
const LASTING = 'public, max-age=31536000, immutable';

function servePage(app: Express, webRoot: string): void {
  app.use(
    express.static(webRoot, {
      setHeaders(res, path) {
        // The page itself must always be asked for anew.
        res.setHeader('cache-control', /[\\/]assets[\\/]/.test(path) ? LASTING : 'no-cache');
      },
    }),
  );
  app.use((_req, res) => {
    if (existsSync(join(webRoot, 'index.html'))) res.status(404).type('text').send('There is nothing here.');
    else res.status(503).type('text').send('The page has not been built yet. Run: npm run build');
  });
}
