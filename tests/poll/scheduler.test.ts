/** Rates, fairness, grouping and back-off of the scheduler, on simulated links of any speed. */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { say } from '../../src/core/wire-says.ts';
import { DEFAULT_SIGNALS, planPids } from '../../src/poll/plan.ts';
import { Scheduler } from '../../src/poll/scheduler.ts';

const SUPPORTED = [
  0x04, 0x05, 0x06, 0x07, 0x0b, 0x0c, 0x0d, 0x0e, 0x0f, 0x10, 0x11, 0x33, 0x42, 0x46, 0x49, 0x5c,
];

/** As fast as the link goes: what it carries is to be seen. */
const planned = () => planPids(DEFAULT_SIGNALS, SUPPORTED, 0).pids;
/** With the rest that the fast ones have by themselves. */
const restful = () => planPids(DEFAULT_SIGNALS, SUPPORTED).pids;
const FAST = [0x0b, 0x0c, 0x0d, 0x49];

/** Runs a link whose round trip depends on the group size; returns the times each PID was answered. */
function run(
  options: {
    seconds: number;
    roundTripMs: (n: number) => number;
    max: number;
    deaf?: (pids: number[], t: number) => number[];
  },
  pids = planned(),
) {
  const s = new Scheduler(pids, options.max, 0);
  const times = new Map<number, number[]>(pids.map((p) => [p.pid, []]));
  const sizes: number[] = [];
  const requests: number[][] = [];
  let t = 0;
  while (t < options.seconds * 1e6) {
    const asked = s.next(t);
    if (asked.length === 0) {
      t = Math.max(t + 1000, s.dueUs() ?? t + 1e6);
      continue;
    }
    sizes.push(asked.length);
    requests.push(asked);
    const us = options.roundTripMs(asked.length) * 1000;
    t += us;
    const silent = options.deaf?.(asked, t / 1e6) ?? [];
    const answered = asked.filter((p) => !silent.includes(p));
    for (const p of answered) times.get(p)!.push(t / 1e6);
    s.done(asked, answered, us, t, say('wire.no-answer'));
  }
  const rate = (pid: number) => times.get(pid)!.length / options.seconds;
  const longestGap = (pid: number, fromS = 0) => {
    const ts = [fromS, ...times.get(pid)!.filter((s) => s > fromS), options.seconds];
    return Math.max(...ts.slice(1).map((x, i) => x - ts[i]!));
  };
  return { s, times, sizes, requests, rate, longestGap };
}

describe('plan', () => {
  it('asks each wanted signal by one PID, demand fast once, and names what is missing', () => {
    const plan = planPids(DEFAULT_SIGNALS, SUPPORTED);
    const fast = plan.pids.filter((p) => p.restUs === 70_000).map((p) => p.pid);
    expect(fast.sort((a, b) => a - b)).toEqual(FAST);
    expect(plan.missing).toContain('boost_cmd_kpa');
    expect(plan.signals).toContain('ect_c');
    expect(new Set(plan.pids.map((p) => p.pid)).size).toBe(plan.pids.length);
    for (const { pid } of plan.pids) expect(SUPPORTED).toContain(pid);
  });

  it('asks for the scale of a PID that has one', () => {
    const pids = planPids(['map_kpa'], [0x0b, 0x4f]).pids.map((p) => p.pid);
    expect(pids).toEqual([0x0b, 0x4f]);
  });
});

describe('scheduler', () => {
  it('keeps every rate on a fast link and gives the rest to the fast signals', () => {
    const { rate } = run({ seconds: 60, roundTripMs: () => 10, max: 1 });
    expect(rate(0x05)).toBeGreaterThan(0.95);
    expect(rate(0x05)).toBeLessThan(1.05);
    expect(rate(0x04)).toBeGreaterThan(1.8);
    expect(rate(0x33)).toBeGreaterThan(0.18);
    for (const pid of [0x0b, 0x0c, 0x0d, 0x49]) expect(rate(pid)).toBeGreaterThan(20);
  });

  it('asks when it says that something is due, and nothing before', () => {
    const pids = planPids(['ect_c', 'voltage_v'], SUPPORTED).pids;
    const s = new Scheduler(pids, 1, 0);
    let t = 0;
    for (let n = 0; n < 20; n++) {
      t = Math.max(t, s.dueUs()!);
      const asked = s.next(t);
      expect(asked).toHaveLength(1);
      s.done(asked, asked, 0, t, say('wire.no-answer'));
      if (s.dueUs()! > t) expect(s.next(s.dueUs()! - 1)).toEqual([]);
    }
    expect(t).toBeGreaterThan(5e6);
  });

  it('slows all down in proportion on a slow link; pressure stays younger than 1.6 s at 8 requests a second', () => {
    const { longestGap, rate, times } = run({ seconds: 300, roundTripMs: () => 125, max: 1 });
    // Everything has been asked once after two seconds.
    for (const [pid, [first]] of times) expect(first, `PID ${pid}`).toBeLessThanOrEqual(2);
    for (const pid of [0x0b, 0x0c, 0x0d, 0x49]) expect(longestGap(pid, 2)).toBeLessThan(1.6);
    expect(rate(0x05)).toBeGreaterThan(0.08);
  });

  it('starves nobody, whatever the link and the silence of others', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 5, max: 300 }),
        fc.integer({ min: 0, max: 80 }),
        fc.constantFrom(1, 3, 6),
        fc.subarray(SUPPORTED, { maxLength: 6 }),
        (base, perPid, max, deaf) => {
          const { longestGap } = run({
            seconds: 400,
            roundTripMs: (n) => base + perPid * n,
            max,
            deaf: (asked) => asked.filter((p) => deaf.includes(p)),
          });
          for (const { pid, intervalUs } of planPids(DEFAULT_SIGNALS, SUPPORTED).pids)
            if (!deaf.includes(pid))
              expect(longestGap(pid)).toBeLessThan(15 + (intervalUs / 1e6) * (base + perPid) * 0.6);
        },
      ),
      { numRuns: 60, seed: 4 },
    );
  });

  it('groups when that is faster and not when it is slower', () => {
    const grouped = run({ seconds: 60, roundTripMs: (n) => 20 + n, max: 6 });
    const single = run({ seconds: 60, roundTripMs: (n) => (n === 1 ? 10 : 40 * n), max: 6 });
    expect(grouped.rate(0x0c)).toBeGreaterThan(30);
    expect(single.sizes.filter((n) => n === 1).length / single.sizes.length).toBeGreaterThan(0.95);
  });

  it('backs off a silent PID with its reason, retries it, and takes it back', () => {
    const { s, times, rate } = run({
      seconds: 100,
      roundTripMs: () => 20,
      max: 6,
      deaf: (_, t) => (t < 50 ? [0x10] : []),
    });
    expect(times.get(0x10)![0]).toBeGreaterThan(50);
    expect(times.get(0x10)![0]).toBeLessThan(82);
    expect(s.silences()).toEqual([]);
    expect(rate(0x0c)).toBeGreaterThan(30);
    const dead = run({ seconds: 20, roundTripMs: () => 20, max: 6, deaf: () => [0x10] });
    expect(dead.s.silences()).toMatchObject([{ pid: 0x10, why: { id: 'wire.asked-again' } }]);
  });

  it('backs off from the start again once the PID has answered, or all is forgiven', () => {
    const pids = planned().filter((p) => p.pid === 0x0c);
    const s = new Scheduler(pids, 1, 0);
    let t = 0;
    const times = (n: number, answered: readonly number[]) => {
      for (let i = 0; i < n; i++) {
        t = Math.max(t + 20_000, s.dueUs()!);
        expect(s.next(t)).toEqual([0x0c]);
        s.done([0x0c], answered, 20_000, t, say('wire.no-answer'));
      }
    };
    const waitsS = () => (s.dueUs()! - t) / 1e6;
    const again = (seconds: number) => [
      { why: say('wire.asked-again', { why: say('wire.no-answer'), seconds }) },
    ];
    for (const reset of [() => times(1, [0x0c]), () => s.forgive(t)]) {
      times(2, []);
      expect(s.silences()).toEqual([]);
      for (const seconds of [2, 5, 10, 30, 30]) {
        times(1, []);
        expect(waitsS()).toBeCloseTo(seconds, 6);
        expect(s.silences()).toMatchObject(again(seconds));
        expect(s.next(t + seconds * 1e6 - 1)).toEqual([]);
      }
      reset();
      expect(s.silences()).toEqual([]);
      expect(waitsS()).toBeLessThanOrEqual(0);
    }
    times(3, []);
    expect(waitsS()).toBeCloseTo(2, 6);
  });

  const made = (...pids: number[]) =>
    pids.map((pid) => ({ pid, signals: [`s${pid}`], intervalUs: 1_000_000, restUs: 1_000_000 }));

  it('tells a PID short from less than four fifths of what is wanted on, and no silent one', () => {
    const every = (us: number, silent = 0) => {
      const s = new Scheduler(made(5), 1, 0);
      let t = 0;
      for (let k = 0; k < 2 + silent; k++) {
        t = k < 2 ? k * us : Math.max(t + us, s.dueUs()!);
        s.next(t);
        s.done([5], k < 2 ? [5] : [], 20_000, t, say('wire.no-answer'));
      }
      return s.shortfalls();
    };
    expect(every(1_250_000)).toEqual([]);
    expect(every(1_250_001)).toEqual([
      { pid: 5, signals: ['s5'], wantedPerS: 1, perS: expect.closeTo(1e6 / 1_250_001, 12) },
    ]);
    expect([every(2_000_000, 2).length, every(2_000_000, 3).length]).toEqual([1, 0]);
    expect(new Scheduler(made(5), 1, 0).shortfalls()).toEqual([]);
    // Of two intervals the newer one weighs a fifth.
    const s = new Scheduler(made(5), 1, 0);
    for (const t of [0, 2_000_000, 7_000_000]) {
      s.next(t);
      s.done([5], [5], 20_000, t, say('wire.no-answer'));
    }
    expect(s.shortfalls()[0]!.perS).toBeCloseTo(1 / 2.6, 12);
  });

  it('asks those alone whose company was answered, one answer is enough, and not where none was', () => {
    const then = (answered: readonly number[]) => {
      const s = new Scheduler(made(1, 2, 3), 3, 0);
      expect(s.next(0)).toEqual([1, 2, 3]);
      s.done([1, 2, 3], answered, 20_000, 0, say('wire.no-answer'));
      return [s.next(1), s.next(1)];
    };
    expect(then([1])).toEqual([[2], [3]]);
    expect(then([])).toEqual([[1, 2, 3], []]);
  });

  it('asks the one of two that was missing by itself for half a minute', () => {
    const at = (tUs: number) => {
      const s = new Scheduler(made(1, 2), 2, 0);
      s.done(s.next(0), [1], 20_000, 0, say('wire.no-answer'));
      expect(s.next(1)).toEqual([2]);
      s.done([2], [2], 20_000, 1, say('wire.no-answer'));
      return s.next(tUs).length;
    };
    expect([at(30e6 - 1), at(30e6)]).toEqual([1, 2]);
  });

  it('asks what goes together with nothing by itself', () => {
    const s = new Scheduler(made(1, 2), 2, 0, () => false);
    expect([s.next(0), s.next(0)]).toEqual([[1], [2]]);
  });

  it('judges a group size by three tries, from the largest down', () => {
    const s = new Scheduler(made(1, 2), 2, 0);
    const sizes = Array.from({ length: 8 }, (_, k) => {
      const tUs = 2e6 * k;
      const group = s.next(tUs);
      s.done(group, group, 20_000, tUs, say('wire.no-answer'));
      return group.length;
    });
    expect(sizes).toEqual([2, 2, 2, 1, 1, 1, 2, 2]);
  });

  it('takes up a group size again that costs no more what it did', () => {
    let n = 0;
    const { sizes } = run({
      seconds: 60,
      roundTripMs: (size) => (++n < 300 && size > 1 ? 100 : 10),
      max: 2,
    });
    expect(new Set(sizes.slice(20, 90))).toEqual(new Set([1]));
    expect(sizes.slice(-50).filter((size) => size === 2).length).toBeGreaterThan(40);
  });

  it('asks for the slow ones at once when all is forgiven', () => {
    const pids = planned().filter((p) => p.restUs > 0);
    const s = new Scheduler(pids, pids.length, 0);
    const asked = (tUs: number) => {
      const group = s.next(tUs);
      if (group.length > 0) s.done(group, group, 20_000, tUs, say('wire.no-answer'));
      return group.length;
    };
    const first = [asked(0), asked(0), asked(0), asked(0)];
    expect([first.reduce((a, n) => a + n, 0), asked(1)]).toEqual([pids.length, 0]);
    s.forgive(2);
    expect(asked(2)).toBeGreaterThan(0);
  });

  it('blames no group size for an answer that is late now and then', () => {
    let n = 0;
    const { sizes } = run({
      seconds: 60,
      roundTripMs: (size) => 8 + size / 2 + (++n % 19 === 0 ? 300 : 0),
      max: 6,
    });
    expect(sizes.filter((size) => size >= 4).length / sizes.length).toBeGreaterThan(0.9);
  });

  it('gives up groups that the control unit never answers', () => {
    const { rate, sizes } = run({
      seconds: 30,
      roundTripMs: () => 20,
      max: 6,
      deaf: (asked) => (asked.length > 2 ? asked : []),
    });
    expect(rate(0x0c)).toBeGreaterThan(5);
    expect(sizes.filter((n) => n > 2).length / sizes.length).toBeLessThan(0.05);
  });
});

describe('rest', () => {
  it('is what a link that carries more is left: the fast ones fourteen times a second, together, the others along', () => {
    const { rate, requests, longestGap } = run(
      { seconds: 60, roundTripMs: (n) => 12 + n / 2, max: 5 },
      restful(),
    );
    for (const pid of FAST) {
      expect(rate(pid)).toBeGreaterThan(13.8);
      expect(rate(pid)).toBeLessThan(16.5);
      // One that makes room for a slow one that is due, or for a group size that is tried, comes right behind.
      expect(longestGap(pid, 1)).toBeLessThan(0.15);
    }
    for (const { pid, intervalUs } of restful()) {
      expect(rate(pid) * (intervalUs / 1e6), `PID ${pid}`).toBeGreaterThan(0.97);
      expect(rate(pid) * (intervalUs / 1e6), `PID ${pid}`).toBeLessThan(1.2);
    }
    expect(requests.length / 60).toBeLessThan(17.5);
    const together = requests.filter((r) => FAST.every((pid) => r.includes(pid)));
    expect(together.length / 60).toBeGreaterThan(13);
    const fastOnes = run({ seconds: 60, roundTripMs: (n) => 12 + n / 2, max: 5 });
    expect(fastOnes.rate(0x0b)).toBeGreaterThan(60);
  });

  it.each([5, 4])(
    'keeps those of one moment together where %i go into a request, and nobody waits for it',
    (max) => {
      const { rate, requests } = run({ seconds: 120, roundTripMs: (n) => 12 + n / 2, max }, restful());
      const quick = requests.map((r) => FAST.filter((pid) => r.includes(pid)).length).filter((n) => n > 0);
      expect(quick.filter((n) => n === FAST.length).length / quick.length).toBeGreaterThan(0.95);
      for (const { pid, intervalUs } of restful())
        expect(rate(pid) * (intervalUs / 1e6), `PID ${pid}`).toBeGreaterThan(0.9);
      expect(requests.length / 120).toBeLessThan(max === 5 ? 17.5 : 20);
    },
  );

  it('changes nothing on a link that carries less', () => {
    const options = { seconds: 300, roundTripMs: () => 125, max: 1 };
    expect(run(options, restful()).requests).toEqual(run(options).requests);
  });

  it('a slow one rides along when it would be due before the next request, and takes nobody else’s place', () => {
    const made = (pid: number, us: number) => ({ pid, intervalUs: us, restUs: us, signals: [`s${pid}`] });
    const pids = [made(1, 70_000), made(2, 70_000), made(3, 1_000_000)];
    const asks = (us: number) => {
      const s = new Scheduler(pids, 3, 0);
      expect(s.next(0)).toEqual([1, 2, 3]);
      s.done([1, 2, 3], [1, 2, 3], 10_000, 10_000, say('wire.no-answer'));
      expect([s.next(69_999), s.dueUs()]).toEqual([[], 70_000]);
      return [s.next(us - 70_000), s.next(us - 1), s.next(us)];
    };
    expect(asks(930_000)).toEqual([[1, 2], [], [1, 2]]);
    expect(asks(930_001)).toEqual([[1, 2], [], [1, 2, 3]]);
    // Two places: it waits for the quick ones once, and where they leave no place goes by itself, right behind them.
    const narrow = new Scheduler(pids, 2, 0);
    const both = (s: Scheduler, tUs: number) => [s.next(tUs), s.next(tUs), s.dueUs()];
    expect(both(narrow, 0)).toEqual([[1, 2], [3], 70_000]);
    expect(both(narrow, 990_000)).toEqual([[1, 2], [], 1_060_000]);
    expect(both(narrow, 1_059_999)).toEqual([[], [], 1_060_000]);
    expect(both(narrow, 1_060_000)).toEqual([[1, 2], [3], 1_130_000]);
    // By more than a fifth of its interval too late, it comes first.
    const late = new Scheduler([made(1, 70_000), made(2, 70_000), made(3, 100_000)], 2, 0);
    expect(both(late, 0)).toEqual([[1, 2], [3], 70_000]);
    expect(both(late, 70_000)).toEqual([[1, 2], [], 140_000]);
    expect(both(late, 140_000)).toEqual([[1, 3], [2], 210_000]);
  });
});

describe('wanted rates', () => {
  it('are met on a fast link, and none is reported short', () => {
    const { s, rate } = run({ seconds: 60, roundTripMs: () => 10, max: 6 });
    expect(s.shortfalls()).toEqual([]);
    expect(rate(0x0b)).toBeGreaterThan(14);
  });

  it('on a slow link each one that falls short is told, with what it gets', () => {
    const { s, rate } = run({ seconds: 120, roundTripMs: () => 120, max: 1 });
    const short = s.shortfalls();
    expect(short.map((x) => x.pid)).toEqual(expect.arrayContaining([0x0b, 0x0c, 0x0d, 0x49, 0x05]));
    for (const { pid, perS, wantedPerS } of short) {
      expect(perS).toBeLessThan(wantedPerS);
      expect(perS / rate(pid)).toBeGreaterThan(0.6);
      expect(perS / rate(pid)).toBeLessThan(1.6);
    }
    expect(short.find((x) => x.pid === 0x0b)).toMatchObject({ signals: ['map_kpa'] });
  });

  it('a silent PID is told with its reason, not as a slow one', () => {
    const { s } = run({
      seconds: 60,
      roundTripMs: () => 20,
      max: 6,
      deaf: (p, t) => (t > 10 ? p.filter((x) => x === 0x05) : []),
    });
    expect(s.silences()).toMatchObject([
      {
        pid: 0x05,
        signals: ['ect_c'],
        why: { id: 'wire.asked-again', args: { why: say('wire.no-answer'), seconds: expect.any(Number) } },
      },
    ]);
    expect(s.shortfalls()).toEqual([]);
  });
});
