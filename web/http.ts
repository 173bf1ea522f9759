/** Calls to the daemon: JSON both ways, errors as a sentence and what to try. */
import type { Says } from '../src/core/says.ts';
import { early } from './early.ts';
import { t, told } from './words.ts';

export class CallError extends Error {
  readonly hint: string | null;
  readonly status: number;
  constructor(message: string, hint: string | null, status: number) {
    super(message);
    this.hint = hint;
    this.status = status;
  }
}

/** @param signal gives the question up; the answer then never comes */
export function get<T>(path: string, signal: AbortSignal | null = null): Promise<T> {
  return call<T>(path, { signal }, early(path, signal));
}

export function post<T>(path: string, body: object = {}, signal: AbortSignal | null = null): Promise<T> {
  return call<T>(path, {
    signal,
    method: 'POST',
    headers: { 'content-type': 'application/json', 'x-handback': '1' },
    body: JSON.stringify(body),
  });
}

/** A file as it is: a photo, an archive. */
export function send<T>(
  path: string,
  type: string,
  body: Blob,
  signal: AbortSignal | null = null,
): Promise<T> {
  return call<T>(path, {
    method: 'POST',
    headers: { 'content-type': type, 'x-handback': '1' },
    body,
    signal,
  });
}

/** How the daemon says no. */
interface Refusal {
  readonly error?: string;
  readonly hint?: string | null;
  readonly says?: Readonly<Record<string, Says>>;
}

/** A file as it is. */
export async function receive(path: string, signal: AbortSignal): Promise<Blob> {
  const answer = await answered(path, { signal });
  return answer.blob().catch(noAnswer);
}

async function call<T>(path: string, init: RequestInit, before: Promise<Response> | null = null): Promise<T> {
  const answer = await answered(path, init, before);
  return answer.json().catch(() => null);
}

function noAnswer(): never {
  throw new CallError(t('app.no-answer'), t('app.no-answer-hint'), 0);
}

/** @throws CallError where the daemon says no, or nothing */
async function answered(
  path: string,
  init: RequestInit,
  before: Promise<Response> | null = null,
): Promise<Response> {
  const answer = await (before ?? fetch(path, init)).catch(noAnswer);
  if (answer.ok) return answer;
  const body: unknown = await answer.json().catch(() => null);
  const { says, ...said } = (body ?? {}) as Refusal;
  const refusal = {
    error: said.error ?? t('app.answered', { status: answer.status }),
    hint: said.hint ?? null,
    ...(says ? { says } : {}),
  };
  throw new CallError(told(refusal, 'error'), told(refusal, 'hint'), answer.status);
}

/** The sentence for anything thrown. */
export function sentenceOf(thrown: unknown): string {
  if (thrown instanceof CallError) return thrown.hint ? `${thrown.message} ${thrown.hint}` : thrown.message;
  return String(thrown);
}
