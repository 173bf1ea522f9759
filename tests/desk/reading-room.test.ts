/** The thread that reads ended runs: what crosses its border, what happens when it is given up, and when it dies. */
import { cpSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { HandbackError } from '../../src/core/errors.ts';
import type { UnderWay } from '../../src/desk/api.ts';
import { Kept } from '../../src/desk/kept.ts';
import { ReadingRoom } from '../../src/desk/reading-room.ts';
import { StoredRuns } from '../../src/desk/stored-runs.ts';
import { listRuns } from '../../src/run/library.ts';
import { sealedMeta } from '../../src/run/meta.ts';
import type { During } from '../../src/run/types.ts';
import { scratch } from '../run/files.ts';

const LIBRARY = join(resolve(import.meta.dirname, '../..'), 'captures');

const folder = scratch();
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

  it('answers what is asked while its thread is given back', async () => {
    room = new ReadingRoom({ library: LIBRARY });
    await expect(room.ask('verdicts', ['no-such-job'])).rejects.toMatchObject({ code: 'library.path' });
    const givenBack = room.close();
    await expect(room.ask('verdicts', ['no-such-job'])).rejects.toMatchObject({ code: 'library.path' });
    await givenBack;
  });

  it('names what a job asks and whose it is, and no path of an archive', async () => {
    room = new ReadingRoom({ library: LIBRARY });
    const answers = Promise.allSettled([
      room.ask('verdicts', ['job-a']),
      room.ask('since', ['job-a']),
      room.ask('handOver', ['job-b']),
      room.ask('learn', ['job-b', 'run']),
      room.ask('unpack', [join(folder, 'none.zip')]),
    ]);
    expect(room.underWay.map(({ what, run }) => [what, run])).toEqual([
      ['verdicts', 'job-a'],
      ['since', 'job-a'],
      ['hand-over', 'job-b'],
      ['learn', 'job-b'],
      ['import', null],
    ]);
    await answers;
    expect(room.underWay).toEqual([]);
  });

  it('says when a run does not fit into its memory; the program goes on', async () => {
    room = new ReadingRoom({ library: LIBRARY, heapMb: 8 });
    await expect(room.ask('verdicts', ['any'])).rejects.toMatchObject({ code: 'input.file' });
    await expect(room.ask('verdicts', ['any'])).rejects.toMatchObject({ code: 'input.file' });
  });
});

describe('several runs of one question', () => {
  const ask = async (library: string, threads: number) => {
    room = new ReadingRoom({ library, keep: true, threads: () => threads });
    const ids = (await listRuns(library)).runs.map((r) => r.meta.id);
    const shares: number[] = [];
    const request = { before: ids.slice(0, 1), after: ids.slice(1), comeBack: [] };
    const compared = await room.ask('compare', [request], undefined, (s) => shares.push(s));
    await room.close();
    return { json: Buffer.from(compared.json).toString(), shares };
  };
  const libraryOf = (name: string): string => {
    const library = join(folder, name);
    for (const [i, id] of ['a', 'b'].entries()) {
      cpSync(join(LIBRARY, i === 0 ? 'clutch-never-closes' : 'conformance/at-can11'), join(library, id), {
        recursive: true,
      });
      const meta = JSON.parse(readFileSync(join(library, id, 'run.json'), 'utf8'));
      writeFileSync(join(library, id, 'run.json'), sealedMeta({ ...meta, id, seal: undefined }));
    }
    return library;
  };

  it('are read side by side, kept, and answered as one thread answers', async () => {
    const [apart, alone] = [libraryOf('apart'), libraryOf('alone')];
    const two = await ask(apart, 2);
    expect(two.json).toBe((await ask(alone, 1)).json);
    expect(two.shares.some((s) => s > 0)).toBe(true);
    expect(two.shares).toEqual(two.shares.toSorted((a, b) => a - b));
    const stored = new StoredRuns(apart, true);
    const never = { signal: new AbortController().signal, progress: () => undefined };
    const about = { compare: { before: ['a'], after: ['b'], comeBack: [] } };
    expect(await stored.ahead(never, about)).toEqual([]);
    rmSync(join(apart, 'b', 'compared.sealed'));
    writeFileSync(join(apart, 'a', 'compared.sealed'), 'altered');
    const again = await stored.ahead(never, about);
    expect(again.map((a) => a.entry.meta.id).sort()).toEqual(['a', 'b']);
    expect(await new StoredRuns(apart, false).ahead(never, about)).toEqual([]);
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
    return { begun, ask, asker, kept };
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

  it('has settled when the work has ended, not when it is given up', async () => {
    const { begun, asker, kept } = asked();
    const { gone, answer } = asker();
    gone.abort(new Error('gone'));
    await expect(answer).rejects.toThrow('gone');
    const told: string[] = [];
    const settled = kept.settled().then(() => told.push('settled'));
    await new Promise(setImmediate);
    told.push('written');
    begun[0]!.done({});
    await settled;
    expect(told).toEqual(['written', 'settled']);
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
