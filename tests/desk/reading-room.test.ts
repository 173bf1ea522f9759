/** The thread that reads ended runs: what crosses its border, what happens when it is given up, and when it dies. */
import { join, resolve } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { HandbackError } from '../../src/core/errors.ts';
import type { UnderWay } from '../../src/desk/api.ts';
import { Kept } from '../../src/desk/kept.ts';
import { ReadingRoom } from '../../src/desk/reading-room.ts';
import { listRuns } from '../../src/run/library.ts';
import type { During } from '../../src/run/types.ts';

const LIBRARY = join(resolve(import.meta.dirname, '../..'), 'captures');

let room: ReadingRoom | null = null;
afterEach(() => room?.close());

describe('the reading room', () => {
  it('hands errors over whole: code, statement, hint, and English for logs', async () => {
    room = new ReadingRoom({ library: LIBRARY });
    const thrown: unknown = await room.ask('verdicts', ['no-such-job']).catch((e: unknown) => e);
    expect(thrown).toBeInstanceOf(HandbackError);
    const { code, told, message } = thrown as HandbackError;
    expect(code).toBe('library.path');
    expect(told.message).toMatchObject({ id: 'error.no-job', args: { id: 'no-such-job' } });
    expect(told.hint).toMatchObject({ id: 'error.no-job-hint' });
    expect(message).toContain('no-such-job');
  });

  it('tells how far it is, stops when it is given up, and answers the next question', async () => {
    room = new ReadingRoom({ library: LIBRARY });
    const [entry] = (await listRuns(LIBRARY)).runs;
    const { id } = entry!.meta;
    const gone = new AbortController();
    const shares: number[] = [];
    const heard: UnderWay[] = [];
    const given = room.ask('view', [id], gone.signal, (share) => {
      shares.push(share);
      heard.push(...room!.underWay);
      gone.abort(new Error('the page went away'));
    });
    await expect(given).rejects.toThrow('the page went away');
    expect(shares.length).toBeGreaterThan(0);
    expect(shares.every((s) => s >= 0 && s < 1)).toBe(true);
    expect(heard.length).toBe(shares.length);
    for (const [k, asked] of heard.entries())
      expect(asked).toMatchObject({ what: 'view', run: id, share: shares[k] });
    expect(room.underWay).toEqual([]);
    const view = (await room.ask('view', [id])).value;
    expect(view.summary.id).toBe(id);
    expect(view.judgement.findings.length).toBeGreaterThan(0);
    await expect(room.ask('view', [id], gone.signal)).rejects.toThrow('the page went away');
  });

  it('says when a run does not fit into its memory; the program goes on', async () => {
    room = new ReadingRoom({ library: LIBRARY, heapMb: 8 });
    await expect(room.ask('verdicts', ['any'])).rejects.toMatchObject({ code: 'input.file' });
    await expect(room.ask('verdicts', ['any'])).rejects.toMatchObject({ code: 'input.file' });
  });
});

describe('a question that several ask', () => {
  function asked() {
    const begun: { during: During; done: (v: object) => void }[] = [];
    const kept = new Kept<object>(2);
    const ask = (during?: During) =>
      kept.get('key', (d) => new Promise((done) => begun.push({ during: d, done })), during);
    const asker = () => {
      const gone = new AbortController();
      return { gone, answer: ask({ signal: gone.signal, progress: () => undefined }) };
    };
    return { begun, ask, asker };
  }

  it('is worked on once, and goes on while anybody waits', async () => {
    const { begun, asker } = asked();
    const [one, two] = [asker(), asker()];
    one.gone.abort(new Error('gone'));
    await expect(one.answer).rejects.toThrow('gone');
    expect(begun.length).toBe(1);
    expect(begun[0]!.during.signal.aborted).toBe(false);
    const value = {};
    begun[0]!.done(value);
    expect(await two.answer).toBe(value);
  });

  it('is stopped when all are gone, and begun anew for the next', async () => {
    const { begun, asker, ask } = asked();
    const [one, two] = [asker(), asker()];
    for (const { gone, answer } of [one, two]) {
      gone.abort(new Error('gone'));
      await expect(answer).rejects.toThrow('gone');
    }
    expect(begun[0]!.during.signal.aborted).toBe(true);
    const next = ask();
    expect(begun.length).toBe(2);
    begun[1]!.done({});
    await next;
  });
});
