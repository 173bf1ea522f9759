/** Which layer may know which: each folder sees only what stands before it. Checked by tests/lint/layers.ts. */
const order = [
  'core',
  'signal',
  'link',
  'isotp',
  'adapter',
  'j1979',
  'poll',
  'run',
  'analysis',
  'compare',
  'words',
  'sheet',
];
const later = (i) => [...order.slice(i + 1), 'sim', 'server', 'cli'].map((f) => `^src/${f}/`);
const rules = order.map((folder, i) => ({
  name: `${folder}-looks-left`,
  severity: 'error',
  from: { path: `^src/${folder}/` },
  to: { path: [...later(i), '^src/daemon', '^web/', '^tests/'] },
}));

module.exports = {
  forbidden: [
    ...rules,
    {
      name: 'sim-knows-no-judging',
      severity: 'error',
      from: { path: '^src/sim/' },
      to: { path: ['^src/(poll|run|analysis|compare|sheet|server|cli)/', '^src/daemon'] },
    },
    {
      name: 'sim-is-for-faces-and-tests',
      severity: 'error',
      from: { pathNot: ['^src/sim/', '^src/cli/', '^src/server/', '^src/daemon', '^tests/'] },
      to: { path: '^src/sim/' },
    },
    {
      name: 'server-not-cli',
      severity: 'error',
      from: { path: '^src/server/' },
      to: { path: ['^src/cli/'] },
    },
    {
      name: 'page-takes-types-only',
      severity: 'error',
      from: { path: '^web/' },
      to: { path: '^src/', pathNot: '^src/(words|core/says)', dependencyTypesNot: ['type-only'] },
    },
    { name: 'no-cycles', severity: 'error', from: {}, to: { circular: true } },
    {
      name: 'judging-does-no-io',
      severity: 'error',
      from: { path: '^src/(core|signal|isotp|j1979|analysis|compare)/' },
      to: { path: ['^(node:)?(fs|net|http|child_process|os|dgram|tls)(/|$)', 'serialport', 'express'] },
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    exclude: { path: ['^dist/', 'node_modules/.*/node_modules'] },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: {
      extensions: ['.ts', '.tsx', '.js'],
      conditionNames: ['import', 'node', 'types'],
    },
  },
};
