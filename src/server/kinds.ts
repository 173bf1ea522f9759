/** Routes of kinds of engine and the pool. Listed in docs/http-api.md. */

import { Router } from 'express';
import { kindChangeAsked, poolAsked } from '../desk/asked.ts';
import type { KindsApi } from '../desk/kinds-api.ts';
import { checked, goneSignal } from './requests.ts';

/** To be mounted on /api, behind the guards and the JSON parser. */
export function kindRoutes(kinds: KindsApi): Router {
  const routes = Router({ caseSensitive: true });
  routes.get('/kinds', async (_req, res) => void res.json(await kinds.view()));
  routes.post('/kinds', async (req, res) => {
    res.json(await kinds.change(checked(kindChangeAsked, req.body, '')));
  });
  routes.get('/pool/ask', async (req, res) => {
    res.json(await kinds.ask(checked(poolAsked, req.query, ''), goneSignal(res)));
  });
  return routes;
}
