/** Routes of what goes on now: the connection, the run being recorded, the live stream. Listed in docs/http-api.md. */

import { Router } from 'express';
import { z } from 'zod';
import type { ConnectRequest, DaemonApi, MarkRequest, StartRunRequest } from '../desk/api.ts';
import { connectAsked, markAsked, receiverAsked, startAsked } from '../desk/asked.ts';
import { isLoopback, isOwnPage } from './guard.ts';
import { checked, nothing, withoutUndefined } from './requests.ts';
import { seriesQuery } from './runs.ts';
import type { StreamHub } from './stream.ts';

const hiddenBody = z.strictObject({ page: z.uuid(), hidden: z.boolean() });

/**
 * To be mounted on /api, behind the guards and the JSON parser.
 * @param host where the server listens
 */
export function liveRoutes(api: DaemonApi, hub: StreamHub, host: string): Router {
  const routes = Router({ caseSensitive: true });
  routes.get('/state', (_req, res) => void res.json(api.state()));
  routes.get('/ports', async (_req, res) => void res.json(await api.ports()));
  routes.post('/connect', async (req, res) => {
    await api.connect(withoutUndefined<ConnectRequest>(checked(connectAsked, req.body, '')));
    res.json(api.state());
  });
  routes.post('/disconnect', async (req, res) => {
    checked(nothing, req.body, '');
    await api.disconnect();
    res.json(api.state());
  });
  routes.post('/receiver', async (req, res) => {
    await api.useReceiver(checked(receiverAsked, req.body, ''));
    res.json(api.state());
  });
  routes.post('/run', async (req, res) => {
    const body = checked(startAsked, req.body, '');
    res.json(await api.startRun(withoutUndefined<StartRunRequest>(body)));
  });
  routes.post('/run/stop', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await api.stopRun());
  });
  routes.post('/marks', async (req, res) => {
    res.json(await api.mark(withoutUndefined<MarkRequest>(checked(markAsked, req.body, ''))));
  });
  routes.get('/run/series', (req, res) => {
    const { points, from, to } = checked(seriesQuery, req.query, '');
    res.json(api.liveSeries(points, from, to));
  });
  routes.get('/run/spoken', (_req, res) => void res.json(api.spoken()));
  routes.get('/run/trail', (_req, res) => void res.json(hub.trail.whole()));
  routes.get('/stream', (req, res) => {
    if (req.method === 'HEAD') return void res.status(405).end();
    const packs = !isLoopback(host) && req.acceptsEncodings('gzip') !== false;
    if (!hub.add(res, isOwnPage(req, host), packs))
      res.status(503).json({ error: 'Too many pages are open.', hint: 'Close some of them.' });
  });
  routes.post('/stream/hidden', (req, res) => {
    const { page, hidden } = checked(hiddenBody, req.body, '');
    if (hub.hide(page, hidden)) res.json({});
    else res.status(404).json({ error: 'This stream is not open.', hint: 'Open it again.' });
  });
  return routes;
}
