/** Routes of what goes on now: the connection, the run being recorded, the live stream. Listed in docs/http-api.md. */

import { Router } from 'express';
import { z } from 'zod';
import { families } from '../adapter/dialects.ts';
import { profileSchema } from '../core/profile.ts';
import type { ConnectRequest, DaemonApi, MarkRequest, StartRunRequest } from '../desk/api.ts';
import { PURPOSES } from '../run/types.ts';
import { isOwnPage } from './guard.ts';
import { checked, nothing, withoutUndefined } from './requests.ts';
import { seriesQuery } from './runs.ts';
import type { StreamHub } from './stream.ts';

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
    await api.connect(withoutUndefined<ConnectRequest>(checked(connectBody, req.body, '')));
    res.json(api.state());
  });
  routes.post('/disconnect', async (req, res) => {
    checked(nothing, req.body, '');
    await api.disconnect();
    res.json(api.state());
  });
  routes.post('/receiver', async (req, res) => {
    await api.useReceiver(checked(receiverBody, req.body, ''));
    res.json(api.state());
  });
  routes.post('/run', async (req, res) => {
    const body = checked(startBody, req.body, '');
    res.json(await api.startRun(withoutUndefined<StartRunRequest>(body)));
  });
  routes.post('/run/stop', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await api.stopRun());
  });
  routes.post('/marks', async (req, res) => {
    res.json(await api.mark(withoutUndefined<MarkRequest>(checked(markBody, req.body, ''))));
  });
  routes.get('/run/series', (req, res) => {
    const { points, from, to } = checked(seriesQuery, req.query, '');
    res.json(api.liveSeries(points, from, to));
  });
  routes.get('/run/spoken', (_req, res) => void res.json(api.spoken()));
  routes.get('/run/trail', (_req, res) => void res.json(hub.trail.whole()));
  routes.get('/stream', (req, res) => {
    if (req.method === 'HEAD') return void res.status(405).end();
    if (!hub.add(res, isOwnPage(req, host)))
      res.status(503).json({ error: 'Too many pages are open.', hint: 'Close some of them.' });
  });
  routes.post('/stream/hidden', (req, res) => {
    const { page, hidden } = checked(hiddenBody, req.body, '');
    if (hub.hide(page, hidden)) res.json({});
    else res.status(404).json({ error: 'This stream is not open.', hint: 'Open it again.' });
  });
  return routes;
}
