/** A library without jobs for tests of the rest of the page: its runs are loose, and nothing can be changed. */
import type { DaemonApi } from '../../src/desk/api.ts';
import type { JobsApi, NewObservation } from '../../src/desk/jobs-api.ts';

/** @param observed gets what is observed, as the daemon would be told it */
export function fakeJobs(api: Pick<DaemonApi, 'runs'>, observed: NewObservation[] = []): JobsApi {
  const list: JobsApi['list'] = async () => ({
    jobs: [],
    total: 0,
    loose: await api.runs(),
    troubles: [],
    bin: [],
    practice: { state: 'none', sentence: null },
  });
  const observe = async (_job: string, o: NewObservation) => void observed.push(o);
  const unobserve = async (_job: string, id: string) =>
    void observed.splice(observed.findIndex((o) => o.id === id) >>> 0, 1);
  const known: Partial<Record<string | symbol, unknown>> = { list, observe, unobserve };
  return new Proxy({} as JobsApi, {
    get: (_target, name) => {
      if (known[name]) return known[name];
      throw new Error(`the fake library was asked for ${String(name)}`);
    },
  });
}
