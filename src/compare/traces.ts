/** A run as the charts draw it: each pull, each tip-in, the warm-up, the settled coolant. */
import { tenth } from '../core/rounded.ts';
import type { Gathered } from './gather.ts';
import { afterOneSecond } from './shifts.ts';
import type { Role, RunTraces } from './types.ts';

/** More points than this do not show on a curve of one screen's width. A bound, chosen by hand. */
const MOST_POINTS = 400;
const MOST_DRAWN_PULLS = 120;
const MOST_TIPS = 60;

export function tracesOf(
  run: { readonly id: string; readonly label: string; readonly startedAt: string | null },
  role: Role,
  g: Gathered,
): RunTraces {
  const baroKpa = g.baro?.kpa ?? null;
  const settled = [...g.settledS].sort(([a], [b]) => a - b);
  const total = settled.reduce((a, [, s]) => a + s, 0);
  const fromC = settled[0]?.[0] ?? 0;
  const seconds = g.endUs / 1e6;
  return {
    id: run.id,
    label: run.label,
    role,
    startedAt: run.startedAt,
    seconds: tenth(seconds),
    baroKpa: baroKpa === null ? null : tenth(baroKpa),
    baroSource: g.baro?.source ?? null,
    airC: g.air === null ? null : tenth(g.air.c),
    airSource: g.air?.source ?? null,
    samplesPerS: seconds > 0 ? tenth(g.mapCount / seconds) : 0,
    ...boostOf(g, baroKpa),
    warmUp: warmUpOf(g),
    settled:
      g.plateauC === null || total === 0
        ? null
        : {
            plateauC: g.plateauC,
            minutes: tenth(total / 60),
            fromC,
            share: Array.from(
              { length: settled.at(-1)![0] - fromC + 1 },
              (_, i) => Math.round(((g.settledS.get(fromC + i) ?? 0) / total) * 1e4) / 1e4,
            ),
          },
  };
}

/** Boost is drawn where barometric pressure is known: without it there is a pressure and no boost. */
function boostOf(g: Gathered, baroKpa: number | null): Pick<RunTraces, 'pulls' | 'tipIns'> {
  if (baroKpa === null) return { pulls: [], tipIns: [] };
  return {
    pulls: g.pulls.slice(0, MOST_DRAWN_PULLS).map((p) => ({
      fromS: tenth(p.fromUs / 1e6),
      toS: tenth(p.toUs / 1e6),
      rpm: p.points.map((q) => Math.round(q.rpm)),
      demandPct: p.points.map((q) => Math.round(q.demand)),
      boostKpa: p.points.map((q) => tenth(q.mapKpa - (p.airKpa ?? baroKpa))),
    })),
    tipIns: g.tips.slice(0, MOST_TIPS).map((tip) => {
      const airKpa = tip.airKpa ?? baroKpa;
      const after = afterOneSecond(tip, airKpa);
      return {
        atS: tenth(tip.atUs / 1e6),
        rpm: Math.round(tip.rpm),
        t: tip.points.map((p) => Math.round((p.tUs - tip.atUs) / 1e4) / 100),
        boostKpa: tip.points.map((p) => tenth(p.mapKpa - airKpa)),
        afterOneSecondKpa: after === null ? null : tenth(after),
      };
    }),
  };
}

function warmUpOf(g: Gathered): RunTraces['warmUp'] {
  const { heat, ectC } = g.warmUp;
  if (g.heatSource === null || heat.length < 2) return null;
  const step = Math.max(1, Math.ceil(heat.length / MOST_POINTS));
  const chosen = heat.map((_, i) => i).filter((i) => i % step === 0 || i === heat.length - 1);
  return {
    source: g.heatSource,
    unit: g.heatSource === 'maf_gps' ? 'g' : 'relative',
    heat: chosen.map((i) => tenth(heat[i]!)),
    ectC: chosen.map((i) => tenth(ectC[i]!)),
    heatPerC: g.heatPerC === null ? null : tenth(g.heatPerC),
  };
}
