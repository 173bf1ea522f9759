/** How other devices get in: the addresses of this computer and invitations to them. */

import { networkInterfaces } from 'node:os';
import { Router } from 'express';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { InviteView, NetworkView } from '../desk/api.ts';
import type { Invites } from './guard.ts';
import { checked, nothing } from './requests.ts';

export interface Door {
  readonly invites: Invites;
  /** With a closing slash, without a token; empty on the loopback. */
  addresses: readonly string[];
}

/** Where other devices reach a server that listens on `host`. */
export function addressesOf(host: string, port: number): string[] {
  const own = Object.values(networkInterfaces()).flatMap((of) => of ?? []);
  const names =
    host === '0.0.0.0' || host === '::'
      ? own.filter((a) => !a.internal && a.family === 'IPv4').map((a) => a.address)
      : [host];
  return names.map((name) => `http://${named(name)}:${port}/`);
}

/** A host as it stands in an address. */
export const named = (host: string): string => (host.includes(':') ? `[${host}]` : host);

/** To be mounted on /api, behind the guards and the JSON parser. */
export function doorRoutes(door: Door): Router {
  const routes = Router({ caseSensitive: true });
  routes.get('/network', (_req, res) => {
    const view: NetworkView = { addresses: door.addresses };
    res.json(view);
  });
  routes.post('/invite', (req, res) => {
    checked(nothing, req.body, '');
    if (door.addresses.length === 0)
      throw new HandbackError('input.usage', saying('error.own-computer'), {
        hint: saying('error.own-computer-hint'),
      });
    const { code, validS } = door.invites.make();
    const invite: InviteView = { urls: door.addresses.map((a) => `${a}?token=${code}`), validS };
    res.json(invite);
  });
  return routes;
}
