/** A library without jobs for tests of the rest of the page: its runs are loose, and nothing can be changed. */
import type { DaemonApi } from '../../src/server/api.ts';
import type { JobsApi } from '../../src/server/jobs-api.ts';

export function fakeJobs(api: Pick<DaemonApi, 'runs'>): JobsApi {
  const list: JobsApi['list'] = async () => ({
    jobs: [],
    total: 0,
    loose: await api.runs(),
    troubles: [],
    bin: [],
    practice: { state: 'none', sentence: null },
  });
  return new Proxy({ list } as JobsApi, {
    get: (target, name) => {
      if (name === 'list') return target.list;
      throw new Error(`the fake library was asked for ${String(name)}`);
    },
  });
}
