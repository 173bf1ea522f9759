/** What sounds when: priorities, rate limits, the alarm that cannot be silenced for good, and when the car moves. */
import { describe, expect, it } from 'vitest';
import { ACKNOWLEDGED_MS, Announcer, CoolantAlarm, type Sounding } from '../../web/announcer.ts';
import { Motion } from '../../web/motion.ts';

const second = () => 1000;
const heard = (s: Sounding | null) => s && [s.tone, s.sentence, s.cut];

describe('the announcer', () => {
  it('lets the coolant cut off everything, and nothing cut off the coolant', () => {
    const a = new Announcer();
    a.push({ tone: 'covered', sentence: 'Hot idle: driven.' }, 0);
    expect(heard(a.next(0, second))).toEqual(['covered', 'Hot idle: driven.', false]);
    a.push({ tone: 'coolant', sentence: 'Coolant climbs.' }, 100);
    expect(heard(a.next(100, second))).toEqual(['coolant', 'Coolant climbs.', true]);
    a.push({ tone: 'missed', sentence: 'Missed.' }, 200);
    expect(a.next(200, second)).toBeNull();
    expect(heard(a.next(1200, second))).toEqual(['missed', 'Missed.', false]);
  });

  it('says an event once that is reported twice, with the longer words', () => {
    const a = new Announcer();
    a.push({ tone: 'missed', sentence: 'Engagement missed.' }, 0);
    a.next(0, second);
    a.push({ tone: 'missed', sentence: 'No boost between 1200 and 2400 rpm.' }, 1500);
    expect(heard(a.next(1500, second))).toEqual([null, 'No boost between 1200 and 2400 rpm.', false]);
  });

  it('does not repeat a sentence within 20 s, but sounds again', () => {
    const a = new Announcer();
    for (const t of [0, 6000]) {
      a.push({ tone: 'missed', sentence: 'Missed.' }, t);
      expect(heard(a.next(t, second))).toEqual(['missed', t === 0 ? 'Missed.' : null, false]);
    }
    a.push({ tone: 'missed', sentence: 'Missed.' }, 20_001);
    expect(heard(a.next(20_001, second))).toEqual(['missed', 'Missed.', false]);
  });

  it('keeps distance between good news, and drops what has become old', () => {
    const a = new Announcer();
    a.push({ tone: 'held', sentence: null }, 0);
    a.next(0, second);
    a.push({ tone: 'covered', sentence: 'Low: driven.' }, 1100);
    expect(a.next(1100, second)).toBeNull();
    expect(heard(a.next(4000, second))).toEqual(['covered', 'Low: driven.', false]);
    a.push({ tone: 'covered', sentence: 'Middle: driven.' }, 4100);
    expect(a.next(4100 + 6001, second)).toBeNull();
  });

  it('does not let a bare tone push a waiting sentence aside, and knows what to say again', () => {
    const a = new Announcer();
    a.push({ tone: 'covered', sentence: 'Low: driven.' }, 0);
    a.push({ tone: 'held', sentence: null }, 1);
    expect(heard(a.next(2, second))).toEqual(['covered', 'Low: driven.', false]);
    expect(a.last).toBe('Low: driven.');
  });
});

describe('the coolant alarm', () => {
  it('rings until acknowledged, rests a minute, and rings again while it is hot', () => {
    const alarm = new CoolantAlarm();
    expect(alarm.step(true, 101, 0)).toBe('ringing');
    expect(alarm.acknowledge(1000)).toBe('acknowledged');
    expect(alarm.step(true, 101, 1000 + ACKNOWLEDGED_MS - 1)).toBe('acknowledged');
    expect(alarm.step(true, 101, 1000 + ACKNOWLEDGED_MS)).toBe('ringing');
  });

  it('rings at once when it climbs three degrees further', () => {
    const alarm = new CoolantAlarm();
    alarm.step(true, 101, 0);
    alarm.acknowledge(0);
    expect(alarm.step(true, 103.9, 5000)).toBe('acknowledged');
    expect(alarm.step(true, 104, 6000)).toBe('ringing');
  });

  it('stays to be seen when it ended by itself, and goes when it was seen', () => {
    const alarm = new CoolantAlarm();
    alarm.step(true, 101, 0);
    expect(alarm.step(false, 92, 1000)).toBe('over');
    expect(alarm.step(false, 90, 2000)).toBe('over');
    expect(alarm.acknowledge(3000)).toBe('off');
  });

  it('is not ended by a lost link: not known is not cool', () => {
    const alarm = new CoolantAlarm();
    alarm.step(true, 101, 0);
    expect(alarm.step(null, null, 1000)).toBe('ringing');
    alarm.acknowledge(1000);
    expect(alarm.step(null, null, 1000 + ACKNOWLEDGED_MS)).toBe('ringing');
  });
});

describe('whether the car moves', () => {
  it('takes four seconds of standing, and is not changed by a value that is missing', () => {
    const m = new Motion();
    expect(m.step(null, 0)).toBe(false);
    expect(m.step(6, 100)).toBe(true);
    expect(m.step(0, 1000)).toBe(true);
    expect(m.step(3, 3000)).toBe(true); // a crawl starts the count anew
    expect(m.step(0, 4000)).toBe(true);
    expect(m.step(null, 9000)).toBe(true);
    expect(m.step(0, 8000)).toBe(false);
  });
});
