/** Routes of jobs: the library's list, one job and what it holds, its archive. Listed in docs/http-api.md. */

import { createReadStream, createWriteStream } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import express, { type Request, Router } from 'express';
import { z } from 'zod';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import {
  binId,
  filingAsked,
  handOverAsked,
  jobAsked,
  jobChangeAsked,
  jobId,
  listedPhotoAsked,
  listedSnapshotAsked,
  measurementAsked,
  observationAsked,
  photoAsked,
  runId,
  snapshotAsked,
  teachingAsked,
} from '../desk/asked.ts';
import type { JobsApi, NewMeasurement, NewObservation } from '../desk/jobs-api.ts';
import { checked, goneSignal, nothing, withoutUndefined } from './requests.ts';

/** Of an archive sent by the page. */
const MAX_ARCHIVE_BYTES = 2 * 2 ** 30;

const query = z.string().max(200).default('');
const yes = z.enum(['0', '1']).default('0');

/** To be mounted on /api, behind the guards and the JSON parser. */
export function jobRoutes(jobs: JobsApi): Router {
  const routes = Router({ caseSensitive: true });
  libraryRoutes(routes, jobs); // first: "import" is no job
  visitRoutes(routes, jobs);
  noteRoutes(routes, jobs);
  runRoutes(routes, jobs);
  photoRoutes(routes, jobs);
  archiveRoute(routes, jobs);
  return routes;
}

const id = (req: Request): string => checked(jobId, req.params.id, 'job');

function libraryRoutes(routes: Router, jobs: JobsApi): void {
  routes.get('/jobs', async (req, res) => {
    res.json(await jobs.list(checked(query, req.query.q, 'q')));
  });
  routes.post('/jobs', async (req, res) => {
    res.json(await jobs.create(withoutUndefined(checked(jobAsked, req.body, ''))));
  });
  routes.post('/jobs/import', async (req, res) => {
    const gone = goneSignal(res);
    res.json(await received(req, (file) => jobs.unpack(file, gone)));
  });
  routes.post('/practice', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await jobs.makePractice());
  });
  routes.post('/practice/stop', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await jobs.stopPractice());
  });
  routes.post('/bin/:id/restore', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await jobs.restore(checked(binId, req.params.id, 'bin')));
  });
}

/** One visit, from opening to handing the car over. */
function visitRoutes(routes: Router, jobs: JobsApi): void {
  routes.get('/jobs/:id', async (req, res) => void res.json(await jobs.open(id(req))));
  routes.post('/jobs/:id', async (req, res) => {
    const { was = {}, ...fields } = checked(jobChangeAsked, req.body, '');
    res.json(await jobs.change(id(req), withoutUndefined(fields), withoutUndefined(was)));
  });
  routes.post('/jobs/:id/delete', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await jobs.remove(id(req)));
  });
  routes.get('/jobs/:id/hand-over', async (req, res) => {
    res.json(await jobs.handOverNow(id(req), goneSignal(res)));
  });
  routes.get('/jobs/:id/since', async (req, res) => {
    res.json(await jobs.since(id(req), goneSignal(res)));
  });
  routes.post('/jobs/:id/hand-over', async (req, res) => {
    res.json(await jobs.handOver(id(req), checked(handOverAsked, req.body, '').reason.trim()));
  });
  routes.post('/jobs/:id/open-again', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await jobs.openAgain(id(req)));
  });
  routes.get('/jobs/:id/verdicts', async (req, res) => {
    res.json(await jobs.verdicts(id(req), goneSignal(res)));
  });
}

/** What was seen, measured and read of codes. */
function noteRoutes(routes: Router, jobs: JobsApi): void {
  routes.post('/jobs/:id/observations', async (req, res) => {
    const given = checked(observationAsked, req.body, '');
    res.json(await jobs.observe(id(req), withoutUndefined<NewObservation>(given)));
  });
  routes.post('/jobs/:id/observations/:oid/delete', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await jobs.unobserve(id(req), checked(jobId, req.params.oid, 'observation')));
  });
  routes.post('/jobs/:id/measurements', async (req, res) => {
    const given = checked(measurementAsked, req.body, '');
    res.json(await jobs.measure(id(req), withoutUndefined<NewMeasurement>(given)));
  });
  routes.post('/jobs/:id/measurements/:mid/delete', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await jobs.unmeasure(id(req), checked(jobId, req.params.mid, 'measurement')));
  });
  routes.post('/jobs/:id/snapshots', async (req, res) => {
    res.json(await jobs.takeSnapshot(id(req), checked(snapshotAsked, req.body, '').when));
  });
  routes.post('/jobs/:id/snapshots/listed', async (req, res) => {
    const { ref, listed } = checked(listedSnapshotAsked, req.body, '');
    res.json(await jobs.setSnapshot(id(req), ref, listed));
  });
}

/** What its runs teach, and where a run is filed. */
function runRoutes(routes: Router, jobs: JobsApi): void {
  routes.post('/jobs/:id/teaching', async (req, res) => {
    const { runId: run, may } = checked(teachingAsked, req.body, '');
    res.json(await jobs.setTeaching(id(req), run, may));
  });
  routes.get('/jobs/:id/learn/:run', async (req, res) => {
    res.json(await jobs.learn(id(req), checked(runId, req.params.run, 'run'), goneSignal(res)));
  });
  routes.post('/runs/:run/file', async (req, res) => {
    const { job, purpose } = checked(filingAsked, req.body, '');
    res.json(await jobs.fileRun(checked(runId, req.params.run, 'run'), job, purpose));
  });
  routes.post('/runs/:run/delete', async (req, res) => {
    checked(nothing, req.body, '');
    res.json(await jobs.remove(checked(jobId, req.params.run, 'run')));
  });
}

function photoRoutes(routes: Router, jobs: JobsApi): void {
  const photoBody = express.raw({ type: [...photoAsked.types], limit: photoAsked.mostBytes });
  routes.post('/jobs/:id/photos', photoBody, async (req, res) => {
    if (!Buffer.isBuffer(req.body))
      throw new HandbackError('input.format', saying('error.no-photo-kind'), {
        hint: saying('error.no-photo-kind-hint'),
      });
    const caption = checked(z.string().max(500).default(''), req.query.caption, 'caption');
    const original = checked(yes, req.query.original, 'original') === '1';
    res.json(await jobs.addPhoto(id(req), { bytes: req.body, caption, original }));
  });
  routes.post('/jobs/:id/photos/listed', async (req, res) => {
    const { ref, listed } = checked(listedPhotoAsked, req.body, '');
    res.json(await jobs.setPhoto(id(req), ref, listed));
  });
  routes.get('/jobs/:id/photos/:file', async (req, res) => {
    const { bytes, type } = await jobs.photo(id(req), checked(z.string().max(100), req.params.file, 'file'));
    // Told by its bytes and never as anything that a browser would run, whatever it may hold besides.
    res.set({ 'content-type': type, 'content-security-policy': "default-src 'none'; sandbox" });
    res.set('cache-control', 'private, max-age=86400').send(Buffer.from(bytes));
  });
}

function archiveRoute(routes: Router, jobs: JobsApi): void {
  routes.get('/jobs/:id/archive', async (req, res) => {
    const job = id(req);
    const hide = {
      plate: checked(yes, req.query.hidePlate, 'hidePlate') === '1',
      vin: checked(yes, req.query.hideVin, 'hideVin') === '1',
    };
    const gone = goneSignal(res);
    await withTemporary(async (folder) => {
      const file = join(folder, 'job.zip');
      await jobs.pack(job, hide, file, gone);
      gone.throwIfAborted();
      res.set({
        'content-type': 'application/zip',
        'content-disposition': `attachment; filename="${job}.zip"`,
      });
      await pipeline(createReadStream(file), res);
    });
  });
}

/** The body in a file of its own, which is gone afterwards. */
function received<T>(req: Request, use: (file: string) => Promise<T>): Promise<T> {
  if (!req.is('application/zip'))
    throw new HandbackError('input.format', saying('error.no-archive'), {
      hint: saying('error.no-archive-hint'),
    });
  return withTemporary(async (folder) => {
    const file = join(folder, 'job.zip');
    let bytes = 0;
    const bounded = new Transform({
      transform(chunk: Buffer, _encoding, done) {
        bytes += chunk.length;
        if (bytes <= MAX_ARCHIVE_BYTES) done(null, chunk);
        else done(new HandbackError('input.format', saying('error.archive-large')));
      },
    });
    await pipeline(req, bounded, createWriteStream(file));
    return use(file);
  });
}

async function withTemporary<T>(use: (folder: string) => Promise<T>): Promise<T> {
  const folder = await mkdtemp(join(tmpdir(), 'handback-job-'));
  try {
    return await use(folder);
  } finally {
    await rm(folder, { recursive: true, force: true, maxRetries: 3 });
  }
}
