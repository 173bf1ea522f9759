/** Routes of ended runs: listed, opened, drawn, compared, their marks put right. Listed in docs/http-api.md. */

import { Router } from 'express';
import { z } from 'zod';
import type { DaemonApi, SeriesRange } from '../desk/api.ts';
import { markEditAsked, runId } from '../desk/asked.ts';
import { checked, goneSignal, send, withoutUndefined } from './requests.ts';

const seconds = z.coerce.number().min(0).max(1e9).optional();
/** Of which part of a run, and how fine. */
export const seriesQuery = z.strictObject({
  points: z.coerce.number().int().min(10).max(50_000).default(4000),
  from: seconds,
  to: seconds,
});
const partQuery = z.strictObject({
  points: seriesQuery.shape.points,
  after: z.coerce.number().min(0).max(1).default(0),
});
/** One run or several of each side. */
const runIds = z.union([runId.transform((id) => [id]), z.array(runId).min(1).max(12)]);
const compareQuery = z.strictObject({
  before: runIds,
  after: runIds,
  'come-back': runIds.default([]),
  margin: z.coerce.number().min(0.1).max(50).optional(),
});

/** To be mounted on /api, behind the guards and the JSON parser. */
export function runRoutes(api: DaemonApi): Router {
  const routes = Router({ caseSensitive: true });
  routes.get('/runs', async (_req, res) => void res.json(await api.runs()));
  routes.get('/runs/:id', async (req, res) => {
    send(res, await api.run(checked(runId, req.params.id, 'run'), goneSignal(res)));
  });
  routes.get('/runs/:id/series', async (req, res) => {
    const id = checked(runId, req.params.id, 'run');
    const { points, from, to } = checked(seriesQuery, req.query, '');
    const range = withoutUndefined<SeriesRange>({ points, fromS: from, toS: to });
    send(res, await api.series(id, range, goneSignal(res)));
  });
  routes.get('/runs/:id/series/part', async (req, res) => {
    const id = checked(runId, req.params.id, 'run');
    const { points, after } = checked(partQuery, req.query, '');
    send(res, await api.seriesPart(id, points, after, goneSignal(res)));
  });
  routes.get('/compare', async (req, res) => {
    const { before, after, 'come-back': comeBack, margin } = checked(compareQuery, req.query, '');
    const request = { before, after, comeBack, ...(margin === undefined ? {} : { marginPct: margin }) };
    send(res, await api.compare(request, goneSignal(res)));
  });
  routes.get('/under-way', (_req, res) => void res.json(api.underWay()));
  routes.post('/runs/:id/marks', async (req, res) => {
    const id = checked(runId, req.params.id, 'run');
    const edit = checked(markEditAsked, req.body, '');
    await api.editMark(id, edit);
    res.json(edit);
  });
  return routes;
}
