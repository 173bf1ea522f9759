/** A route of pulls in one gear on a road of one grade. */
import type { Route, RouteLeg } from '../../src/sim/vehicle/routes.ts';

export function pullRoute(gradePct: number, pulls: number): Route {
  const pull: RouteLeg = { do: 'pull', gear: 3, fromRpm: 1400, toRpm: 4200, pedalPct: 95, s: 22, gradePct };
  const back: RouteLeg = { do: 'drive', kmh: 38, s: 15, gradePct };
  return {
    name: 'pulls',
    description: '',
    startC: 88,
    altitudeM: 300,
    legs: [
      { do: 'key-on', s: 3 },
      { do: 'start', s: 5 },
      { do: 'drive', kmh: 40, s: 20, gradePct },
      ...Array.from({ length: pulls }, () => [pull, back]).flat(),
    ],
  };
}
