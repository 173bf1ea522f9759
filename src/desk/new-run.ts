/** How a run begins on what is connected now, and what is known of the link when it ends. */

import type { Clock } from '../core/clock.ts';
import { saying } from '../core/error-says.ts';
import { HandbackError } from '../core/errors.ts';
import { type Profile, profileSchema } from '../core/profile.ts';
import { unfit } from '../core/unfit.ts';
import { VERSION } from '../core/version.ts';
import { createRun, type NewRun, type RunEnd } from '../run/library.ts';
import { simProfileOf } from '../sim/demos.ts';
import type { StartRunRequest } from './api.ts';
import type { Connection } from './connection.ts';
import type { RunContext } from './jobs.ts';
import type { Heard } from './live.ts';
import { LiveFindings } from './live-findings.ts';
import { LiveRun } from './live-run.ts';
import type { ReceiverDesk } from './receiver-desk.ts';

export interface NewRunParts {
  readonly clock: Clock;
  readonly now: Connection['now'];
  readonly receiver: ReceiverDesk;
  /** Asked when its folder is there. */
  readonly isClosed: () => boolean;
  /** For tests: a computer that sleeps. */
  readonly sinceBootMs?: () => number;
}

/**
 * Makes the folder and what judges; nothing is recorded before it begins.
 * @param context the job it is recorded into; null outside jobs
 * @throws HandbackError link.lost, run.*, library.path, input.profile
 */
export async function newRun(
  { clock, now, receiver, isClosed, sinceBootMs }: NewRunParts,
  request: StartRunRequest,
  where: NewRun['where'],
  context: RunContext | null,
): Promise<LiveRun> {
  const { session, link } = now;
  const { adapter, vehicle } = session.state;
  if (!adapter)
    throw new HandbackError('link.lost', saying('error.no-vehicle'), {
      hint: saying('error.connect-first'),
    });
  const profile = profileOf(request.profile ?? { ...simProfileOf(link), ...context?.job.profile });
  const taught = (await context?.taught(profile, link)) ?? null;
  const findings = new LiveFindings(profile, taught?.baseline ?? null);
  const open = await createRun({
    where,
    onLine: (line, of) => findings.line(line, of),
    onWire: (kind, tUs) => findings.wire(kind, tUs),
    purpose: request.purpose,
    tool: `handback ${VERSION}`,
    clock,
    receiver: receiver.port !== null,
    vehicle: request.vehicle ?? (context?.job.vehicle || null),
    ...(sinceBootMs ? { sinceBootMs } : {}),
    vin: vehicle?.vin ?? null,
    complaint: request.complaint ?? (context?.job.complaint || null),
    profile,
    adapter,
    link,
  });
  if (isClosed()) {
    await open.close();
    throw new HandbackError('link.lost', saying('error.closing'));
  }
  return new LiveRun({
    open,
    job: context?.job.id ?? null,
    clock,
    findings,
    taught: taught?.key ?? null,
    isListed: 'library' in where,
  });
}

/** @throws HandbackError input.profile */
function profileOf(given: unknown): Profile {
  const parsed = profileSchema.safeParse(given);
  if (parsed.success) return parsed.data;
  throw new HandbackError(
    'input.profile',
    saying('error.profile-invalid', { why: unfit('profile', parsed.error) }),
  );
}

/** What a run hears: the vehicle, and the receiver where there is one. */
export const heardOn = ({ session, wire$ }: Connection['now'], receiver: ReceiverDesk): Heard => ({
  wire$,
  samples$: session.samples$,
  ...(receiver.port === null ? {} : { receiver$: receiver.events$, begun: receiver.begun }),
});

export function runEndOf(connection: Connection): RunEnd {
  const vin = connection.state?.vehicle?.vin ?? null;
  const counters = connection.counters();
  if (counters === null) return { counters, vin };
  const { roundTripMs, ...rest } = counters;
  return {
    vin,
    counters: {
      ...rest,
      roundTripP50Ms: roundTripMs?.p50 ?? null,
      roundTripP95Ms: roundTripMs?.p95 ?? null,
      roundTripP99Ms: roundTripMs?.p99 ?? null,
    },
  };
}
