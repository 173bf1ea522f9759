import { describe, expect, it } from 'vitest';
import { learnCoolant, mergeCoolant } from '../../src/analysis/coolant/baseline.ts';
import { CoolantDetector } from '../../src/analysis/coolant/detector.ts';
import { SequentialTest } from '../../src/analysis/coolant/sequential.ts';
import { Plausibility } from '../../src/analysis/plausibility.ts';
import type { CleanSample, Finding, Spoken } from '../../src/analysis/types.ts';
import type { Profile } from '../../src/core/profile.ts';
import { seededRandom } from '../../src/core/random.ts';
import { english } from '../../src/words/spelled.ts';

const PROFILE: Profile = { induction: 'turbocharger', fuel: 'diesel' };
const END_S = 2400;

interface Drive {
  readonly ect: (tS: number) => number | null;
  readonly speed?: (tS: number) => number;
  readonly rpm?: (tS: number) => number;
  /** Seconds between two readings of one signal. */
  readonly everyS?: number;
  readonly without?: readonly string[];
  readonly endS?: number;
}

/** A healthy warm-up: 20 °C to a plateau of 90 °C in ten minutes, then a small swing. */
const healthy = (t: number): number => (t < 600 ? 20 + (70 * t) / 600 : 90 + Math.sin(t / 40) * 0.9);
const town = (t: number): number => (t % 120 < 20 ? 0 : 50 + 20 * Math.sin(t / 60));

function samplesOf(d: Drive): CleanSample[] {
  const front = new Plausibility();
  const out: CleanSample[] = [];
  const every = d.everyS ?? 1;
  const speed = d.speed ?? town;
  const signals = ['ambient_c', 'ect_c', 'maf_gps', 'pedal_d_pct', 'rpm', 'speed_kmh'].filter(
    (s) => !d.without?.includes(s),
  );
  const random = seededRandom('drive');
  for (let t = 0; t < (d.endS ?? END_S); t += every)
    signals.forEach((signal, k) => {
      const tS = t + (k * every) / signals.length;
      const rpm = d.rpm?.(tS) ?? 900 + speed(tS) * 20;
      const ect = d.ect(tS);
      const value = {
        ambient_c: 15,
        ect_c: ect === null ? null : Math.round(ect + random.between(-0.2, 0.2)),
        maf_gps: rpm === 0 ? 0 : 6 + speed(tS) * 0.3,
        pedal_d_pct: rpm === 0 || speed(tS) < 5 ? 15 : 35,
        rpm,
        speed_kmh: speed(tS),
      }[signal];
      if (value == null) return;
      const tUs = Math.round(tS * 1e6);
      out.push(...front.push({ signal, tUs, sentUs: tUs, value }));
    });
  out.push(...front.finish());
  return out;
}

function run(d: Drive, profile: Profile = PROFILE) {
  const detector = new CoolantDetector({ profile, baseline: null });
  const spoken: Spoken[] = [];
  let endUs = 0;
  for (const s of samplesOf(d)) {
    spoken.push(...detector.step(s));
    endUs = s.tUs;
  }
  const view = detector.view();
  const findings = detector.finish(endUs);
  const of = (id: string): Finding => findings.find((f) => f.id === id)!;
  return { findings, of, spoken, view };
}

const verdicts = (findings: readonly Finding[]) => findings.map((f) => `${f.id} ${f.verdict}`);

describe('a healthy drive', () => {
  for (const everyS of [1 / 5, 1, 2])
    it(`is shown good with a reading every ${everyS} s`, () => {
      const r = run({ ect: healthy, everyS });
      expect(r.of('coolant.climb').verdict).toBe('shown good');
      expect(r.of('coolant.too-cold').verdict).toBe('shown good');
      expect(r.of('coolant.jumps').verdict).toBe('shown good');
      expect(r.spoken).toEqual([]);
      expect(r.view.state).toBe('settled');
      expect(Math.abs(r.view.plateauC! - 90)).toBeLessThanOrEqual(1);
    });

  it('carries everything a finding needs', () => {
    for (const f of run({ ect: healthy }).findings) {
      expect(english.say(f.rule).length).toBeGreaterThan(20);
      expect(f.saidAtS).toBeNull();
      expect(f.needs === null).toBe(f.verdict === 'shown good');
    }
  });

  it('that ends before the coolant settled shows nothing, and says what to drive', () => {
    const r = run({ ect: healthy, endS: 500 });
    expect(verdicts(r.findings).filter((v) => !v.endsWith('not shown'))).toEqual([]);
    expect(english.say(r.of('coolant.climb').needs!)).toMatch(/settle/);
  });

  it('that swings with its fan at a long stand is no climb, and shows the fan', () => {
    const standing = (t: number) => (t > 1500 && t < 2000 ? 0 : town(t));
    const ect = (t: number) => (t > 1500 && t < 2000 ? 93 + 4 * Math.sin(t / 30) : healthy(t));
    const r = run({ ect, speed: standing });
    expect(r.of('coolant.climb').verdict).not.toBe('fault shown');
    expect(r.of('coolant.fan').verdict).toBe('shown good');
  });

  it('with a hot stop and heat soak after the restart is no climb', () => {
    const stopped = (t: number) => t > 1400 && t < 1600;
    const ect = (t: number) =>
      t > 1400 && t < 1900 ? 90 + 15 * Math.exp(-((t - 1620) ** 2) / 9000) : healthy(t);
    const r = run({ ect, speed: (t) => (stopped(t) ? 0 : town(t)), rpm: (t) => (stopped(t) ? 0 : 1800) });
    expect(r.of('coolant.climb').verdict).not.toBe('fault shown');
  });

  it('with a cold winter standstill at idle is not called too cold', () => {
    const ect = (t: number) => (t < 300 ? 0 + t / 10 : 30 + (t - 300) / 200);
    const r = run({ ect, speed: () => 0, endS: 1500 });
    expect(r.of('coolant.too-cold').verdict).toBe('not shown');
  });
});

describe('climbs', () => {
  const ONSET_S = 1400;
  const step = (by: number) => (t: number) =>
    healthy(t) + (t < ONSET_S ? 0 : by * (1 - Math.exp(-(t - ONSET_S) / 120)));
  const ramp = (perMin: number) => (t: number) => healthy(t) + Math.max(0, ((t - ONSET_S) / 60) * perMin);

  for (const [name, ect, withinMin] of [
    ['+40 °C', step(40), 1],
    ['+25 °C', step(25), 1.5],
    ['+15 °C', step(15), 3],
    ['2 °C/min', ramp(2), 4.5],
    ['1 °C/min', ramp(1), 7.5],
    ['0.5 °C/min', ramp(0.5), 13],
  ] as const)
    for (const everyS of [1 / 5, 1, 4])
      it(`${name}, a reading every ${everyS} s`, () => {
        const r = run({ ect, everyS });
        const f = r.of('coolant.climb');
        expect(f.verdict).toBe('fault shown');
        expect(f.saidAtS).toBeGreaterThan(ONSET_S);
        expect(f.saidAtS! - ONSET_S).toBeLessThan(withinMin * 60);
        const alarm = r.spoken.find((x) => x.finding.id === 'coolant.climb')!;
        expect(alarm.atS).toBe(f.saidAtS);
        expect(english.say(alarm.sentence)).toMatch(/Stop when safe; never open a hot cooling system/);
        const watches = r.spoken.filter((x) => x.finding.id === 'coolant.watch');
        expect(watches.map((x) => x.finding.verdict)).toEqual(watches.length > 0 ? ['not shown'] : []);
        expect(watches.every((x) => x.atS < f.saidAtS!)).toBe(true);
        expect(f.measured!.interval[0]).toBeGreaterThan(f.limit!.value);
        expect(r.view.state).toBe('climbing');
      });

  it('are found without speed and air mass, later', () => {
    const r = run({ ect: step(25), without: ['maf_gps', 'speed_kmh'] });
    const f = r.of('coolant.climb');
    expect(f.verdict).toBe('fault shown');
    expect(f.saidAtS! - ONSET_S).toBeLessThan(240);
    expect(f.signals).not.toContain('maf_gps');
  });

  it('past the limit in the warm-up are said whatever else is known', () => {
    const r = run({ ect: (t) => 20 + t / 6 });
    expect(r.of('coolant.climb').verdict).toBe('fault shown');
    expect(r.of('coolant.climb').limit!.value).toBe(105);
  });

  it('say how long it takes to the limit while it lasts', () => {
    const r = run({ ect: ramp(2), endS: ONSET_S + 300 });
    const [low, high] = r.view.minutesToLimit!;
    expect(low).toBeLessThanOrEqual(high);
    expect(low).toBeGreaterThan(0.5);
    expect(low).toBeLessThan(5);
  });

  it('at a stand that fall when driving point to the fan', () => {
    const phase = (t: number) => (t - ONSET_S) % 300;
    const stands = (t: number) => t > ONSET_S && phase(t) < 180;
    const ect = (t: number) =>
      t < ONSET_S ? healthy(t) : phase(t) < 180 ? 90 + phase(t) / 8 : 112.5 - (phase(t) - 180) / 5.3;
    const r = run({ ect, speed: (t) => (stands(t) ? 0 : 70) });
    expect(english.say(r.of('coolant.climb').pointsTo!)).toMatch(/fan/);
  });

  it('are not shown good when the drive ends in the middle of one', () => {
    const r = run({ ect: ramp(1), endS: ONSET_S + 260 });
    expect(r.of('coolant.climb').verdict).not.toBe('shown good');
  });
});

describe('after a climb', () => {
  // To 105 °C on the road from minute 30 on, 109 standing, carried off there, and back at the plateau on the move.
  const STOOD = [2100, 2400] as const;
  const stands = (t: number): boolean => t > STOOD[0] && t < STOOD[1];
  const climbing = (t: number): number => {
    if (t < 1800) return healthy(t);
    if (t < 2100) return 90 + (t - 1800) / 20;
    return t < 2200 ? 105 + (t - 2100) / 25 : Math.max(90, 109 - (t - 2200) / 10);
  };
  const speed = (t: number): number => (stands(t) ? 0 : t < 1700 ? town(t) : 80 + 8 * Math.sin(t / 50));
  const r = run({ ect: climbing, speed, endS: 3600 });
  it('the plateau is told as it was held before, and not praised', () => {
    expect(r.of('coolant.climb').verdict).toBe('fault shown');
    const { verdict, measured, evidence, needs } = r.of('coolant.too-cold');
    expect([verdict, needs!.id, measured!.value]).toEqual(['not shown', 'coolant.needs.climb-first', 90]);
    const [low, high] = measured!.interval;
    expect([low >= 88, high <= 92]).toEqual([true, true]);
    expect(evidence.map((e) => e.text.id)).toEqual(['coolant.seen.plateau-left']);
    expect(english.say(evidence[0]!.text)).toMatch(/^Settled at 90\.0\s°C, and climbed away from it\.$/);
    // The last low of the three minutes before it was said.
    expect(Math.abs(evidence[0]!.toS - 1800)).toBeLessThan(100);
  });
  it('what cooled the standing coolant in it does not show the fan good; what did before it does', () => {
    const { verdict, evidence, needs } = r.of('coolant.fan');
    expect([verdict, needs!.id]).toEqual(['not shown', 'coolant.needs.climb-first']);
    expect(evidence.map((e) => e.text.id)).toEqual(['coolant.seen.fan-climbed']);
    const cycle = (t: number) => (t > 1200 && t < 1500 ? 93 + 4 * Math.sin((t - 1200) / 30) : climbing(t));
    const stood = (t: number) => (t > 1200 && t < 1500 ? 0 : speed(t));
    const before = run({ ect: cycle, speed: stood, endS: 3600 });
    expect(before.of('coolant.climb').verdict).toBe('fault shown');
    expect(before.of('coolant.fan').verdict).toBe('shown good');
  });
});

describe('too cold', () => {
  it('a thermostat that stays open in town is found', () => {
    const ect = (t: number) => Math.min(20 + t / 9, 68 + 3 * Math.sin(t / 70));
    const r = run({ ect, speed: (t) => (t % 60 < 15 ? 0 : 28) });
    const f = r.of('coolant.too-cold');
    expect(f.verdict).toBe('fault shown');
    expect(english.say(f.pointsTo!)).toMatch(/thermostat/);
    expect(f.saidAtS).toBeLessThan(1200);
    expect(f.measured!.interval[1]).toBeLessThanOrEqual(f.limit!.value + 2);
  });

  it('a settled coolant that sags on the motorway is found', () => {
    const ect = (t: number) =>
      t < 1300 ? healthy(t) : Math.max(72, 90 - (t - 1300) / 15) + Math.sin(t / 30);
    expect(run({ ect, speed: (t) => (t < 1300 ? town(t) : 110) }).of('coolant.too-cold').verdict).toBe(
      'fault shown',
    );
  });

  it('a reading stuck for some minutes in the warm-up is not a thermostat', () => {
    const ect = (t: number) =>
      t > 300 && t < 700 ? 55 : t < 900 ? 20 + (70 * t) / 600 : 90 + Math.sin(t / 40);
    expect(run({ ect: (t) => Math.min(91, ect(t)) }).of('coolant.too-cold').verdict).not.toBe('fault shown');
  });
});

describe('readings that lie', () => {
  const glitch = (tS: number, away: number) => (t: number) => healthy(t) + (t >= tS && t < tS + 1 ? away : 0);

  it('spikes are no fault of the cooling', () => {
    const random = seededRandom('spikes');
    const ect = (t: number) => healthy(t) + (random.next() < 0.02 ? random.between(-50, 40) : 0);
    const r = run({ ect });
    expect(r.findings.filter((f) => f.verdict === 'fault shown')).toEqual([]);
    expect(run({ ect: glitch(1500, 40) }).of('coolant.climb').verdict).toBe('shown good');
  });

  it('a wrong level for most of a minute is no climb', () => {
    const ect = (t: number) => healthy(t) + (t > 1500 && t < 1550 ? 35 : 0);
    expect(run({ ect }).of('coolant.climb').verdict).not.toBe('fault shown');
  });

  it('bubbles that come and go are found, and the circuit is not shown good', () => {
    const ect = (t: number) => healthy(t) - 9 * Math.max(0, Math.sin((t % 45) / 3.2)) * (t % 45 < 10 ? 1 : 0);
    const r = run({ ect });
    expect(r.of('coolant.jumps').verdict).toBe('fault shown');
    expect(english.say(r.of('coolant.jumps').pointsTo!)).toMatch(/air/);
    expect(r.view.sentence.id).toBe('coolant.view.jumps');
  });

  it('holes of the recording are not evidence', () => {
    const r = run({ ect: (t) => (t > 700 && t < 2100 ? null : healthy(t)) });
    expect(r.of('coolant.climb').verdict).not.toBe('fault shown');
  });

  it('a drive without coolant says so', () => {
    const r = run({ ect: () => null });
    expect(english.say(r.of('coolant.climb').needs!)).toMatch(/No coolant temperature/);
    expect(r.view.state).toBe('no data');
  });
});

describe('baseline', () => {
  const lesson = (ect: Drive['ect']) => learnCoolant(samplesOf({ ect }), PROFILE);

  it('teaches plateau and warm-up, and survives JSON', () => {
    const baseline = mergeCoolant([lesson(healthy), lesson((t) => healthy(t * 1.1))]);
    expect(JSON.parse(JSON.stringify(baseline))).toEqual(baseline);
    expect(Math.abs(baseline.plateauC! - 90)).toBeLessThanOrEqual(1);
    expect(baseline.warmUps).toHaveLength(2);
  });

  it('shows a warm-up that needs twice the heat', () => {
    const baseline = mergeCoolant([lesson(healthy), lesson((t) => healthy(t * 1.1))]);
    const detector = new CoolantDetector({ profile: PROFILE, baseline });
    const spoken: string[] = [];
    for (const s of samplesOf({ ect: (t) => healthy(t / 3.2) }))
      for (const x of detector.step(s)) spoken.push(x.finding.id);
    expect(spoken).toContain('coolant.warm-up');
  });

  it('of nothing knows nothing', () => {
    expect(mergeCoolant([]).plateauC).toBeNull();
  });
});

describe('the same samples', () => {
  it('give the same findings to the last digit', () => {
    const d: Drive = { ect: (t) => healthy(t) + Math.max(0, (t - 1500) / 60) };
    expect(run(d).findings).toEqual(run(d).findings);
  });
});

describe('the sequential test', () => {
  it('keeps its promise on noise as wide as it assumes', () => {
    const random = seededRandom('null');
    // 50 hours between false alarms at least are promised; 100 runs of 5 hours may hold about 10.
    let alarms = 0;
    for (let k = 0; k < 100; k++) {
      const test = new SequentialTest({ sigma: 0.5, lambdas: [1, 2], block: 1, hours: 50 });
      for (let i = 0; i < 3600; i++) {
        test.step(0.5 * random.normal());
        if (test.share() >= 1) {
          alarms++;
          break;
        }
      }
    }
    expect(alarms).toBeLessThanOrEqual(18);
  });

  it('sees a change soon', () => {
    const test = new SequentialTest({ sigma: 0.5, lambdas: [1, 2], block: 1, hours: 1000 });
    let steps = 0;
    while (test.share() < 1 && steps < 100) {
      test.step(1);
      steps++;
    }
    expect(steps).toBeLessThan(15);
  });
});

describe('a car that stood and cooled down inside one recording', () => {
  // Cold again after a night for which the laptop slept; at first the heater takes all the heat.
  const night = (t: number): number | null => {
    if (t < 1200) return healthy(t);
    if (t < 1260) return null;
    return t < 1560 ? 38 + Math.sin(t / 20) : Math.min(90, 38 + (t - 1560) / 6);
  };
  it('warms up anew and is not called too cold', () => {
    const { findings } = run({ ect: night, endS: 3000 });
    expect(findings.filter((f) => f.verdict === 'fault shown')).toEqual([]);
  });
  it('is called too cold when it stays at 60 °C after it', () => {
    const stays = (t: number) => (t < 1260 ? night(t) : Math.min(60 + Math.sin(t / 20), night(t)!));
    const { findings } = run({ ect: stays, endS: 3600 });
    expect(findings.find((f) => f.id === 'coolant.too-cold')?.verdict).toBe('fault shown');
  });
  it('measures the warm-up from the new start', () => {
    const once = (t: number) =>
      t < 300 ? 30 + t / 20 : t < 360 ? null : Math.min(90, 10 + (80 * (t - 360)) / 600);
    const lesson = learnCoolant(samplesOf({ ect: once }), PROFILE);
    const plain = learnCoolant(samplesOf({ ect: (t) => Math.min(90, 10 + (80 * t) / 600) }), PROFILE);
    expect(lesson.warmUp!.heatPerC / plain.warmUp!.heatPerC).toBeCloseTo(1, 1);
  });
});
