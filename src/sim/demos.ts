/** Simulated vehicles by link name: "sim", or "sim:VEHICLE?route=NAME&fault=NAME=V&seed=N&front=slcan&speedup=K&receiver=HZ". */
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import type { Says } from '../core/says.ts';
import type { SimulationOptions } from './bench.ts';
import { FRONT_NAMES, USUAL_FRONT } from './front/fronts.ts';
import { createVehicle, VEHICLES } from './vehicle/vehicle.ts';

/** What the page offers when no adapter is there. */
export const SIM_DEMOS: readonly { readonly link: string; readonly title: Says }[] = [
  { link: 'sim:twin-charged?route=warm-road-test', title: saying('demo.good') },
  {
    link: 'sim:twin-charged?route=warm-road-test&fault=clutch-never-closes',
    title: saying('demo.clutch-never'),
  },
  {
    link: 'sim:twin-charged?route=warm-road-test&fault=clutch-sometimes=0.4',
    title: saying('demo.clutch-sometimes'),
  },
  {
    link: 'sim:twin-charged?route=warm-road-test&fault=no-circulation',
    title: saying('demo.no-circulation'),
  },
  { link: 'sim:turbo-diesel?route=warm-road-test', title: saying('demo.diesel') },
];

const KEYS = [
  'route',
  'fault',
  'seed',
  'front',
  'speedup',
  'pace',
  'quirk',
  'answer',
  'services',
  'receiver',
  'receiver-fault',
];

/** What its maker would say of the simulated vehicle behind a link; null when the link is no simulated vehicle. */
export function simProfileOf(link: string): { induction: string; fuel: string } | null {
  const name = /^sim(?::([^?]*))?/.exec(link)?.[1] || VEHICLES[0]?.name;
  const vehicle = link.startsWith('sim') ? VEHICLES.find((v) => v.name === name) : undefined;
  return vehicle ? { induction: vehicle.induction, fuel: vehicle.fuel } : null;
}

/** How many times faster than time the simulated vehicle behind a link runs; null in its own time and for another link. */
export function simSpeedupOf(link: string | null): number | null {
  if (!link?.startsWith('sim')) return null;
  const speedup = Number(new URLSearchParams(link.split('?')[1] ?? '').get('speedup') ?? 1);
  return speedup > 1 ? speedup : null;
}

/** @throws HandbackError input.usage naming what is not understood */
export function simOptionsOf(link: string): Omit<SimulationOptions, 'clock'> {
  const [, rest = ''] = link.split(/:(.*)/s);
  const cut = rest.indexOf('?');
  const name = cut < 0 ? rest : rest.slice(0, cut);
  const query = new URLSearchParams(cut < 0 ? '' : rest.slice(cut + 1));
  for (const key of query.keys())
    if (!KEYS.includes(key))
      throw new HandbackError(
        'input.usage',
        saying('error.sim-unknown', { what: 'key', word: key, known: KEYS.join(', ') }),
      );
  const asked = query.get('front') ?? USUAL_FRONT;
  const front = FRONT_NAMES.find((name) => name === asked);
  if (!front)
    throw new HandbackError(
      'input.usage',
      saying('error.sim-unknown', { what: 'front', word: asked, known: FRONT_NAMES.join(', ') }),
    );
  const services = query.get('services') ?? 'classic';
  if (services !== 'classic' && services !== 'newer')
    throw new HandbackError(
      'input.usage',
      saying('error.sim-unknown', { what: 'services', word: services, known: 'classic, newer' }),
    );
  const route = query.get('route');
  const seed = numberOf(query, 'seed') ?? 1;
  const speedup = numberOf(query, 'speedup');
  const pace = numberOf(query, 'pace');
  const answerMs = numberOf(query, 'answer');
  const hz = numberOf(query, 'receiver');
  return {
    vehicle: createVehicle({
      ...(name === '' ? {} : { vehicle: name }),
      ...(route === null ? {} : { route }),
      faults: query.getAll('fault').map(faultOf),
      seed,
    }),
    seed,
    front,
    services,
    quirks: query.getAll('quirk'),
    ...(hz === null ? {} : { receiver: { hz, faults: query.getAll('receiver-fault') } }),
    ...(speedup === null ? {} : { speedup }),
    ...(pace === null ? {} : { pace }),
    ...(answerMs === null ? {} : { responseMs: answerMs }),
  };
}

/** "NAME" or "NAME=V". @throws HandbackError input.usage */
export function faultOf(text: string): { name: string; value?: number } {
  const [name = '', value] = text.split(/=(.*)/s);
  if (value === undefined) return { name };
  const number = Number(value);
  if (value.trim() === '' || !Number.isFinite(number))
    throw new HandbackError('input.usage', saying('error.sim-no-number', { name: `fault ${name}`, value }));
  return { name, value: number };
}

function numberOf(query: URLSearchParams, key: string): number | null {
  const text = query.get(key);
  if (text === null) return null;
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value))
    throw new HandbackError('input.usage', saying('error.sim-no-number', { name: key, value: text }));
  return value;
}
