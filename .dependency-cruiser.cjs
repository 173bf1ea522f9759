/**
 * Which room may know which: each folder sees only what stands before it. Checked by tests/lint/layers.ts, which also
 * counts rooms, floors and arrows.
 */
const order = [
  'core',
  'signal',
  'link',
  'nmea',
  'isotp',
  'adapter',
  'j1979',
  'poll',
  'run',
  'analysis',
  'compare',
  'words',
  'job',
  'pool',
  'sheet',
  'desk',
  'server',
  'cli',
];
const later = (i) => order.slice(i + 1).map((f) => `^src/${f}/`);
const rules = order.map((folder, i) => ({
  name: `${folder}-looks-left`,
  severity: 'error',
  from: { path: `^src/${folder}/` },
  to: { path: [...later(i), '^web/', '^tests/'] },
}));

module.exports = {
  forbidden: [
    ...rules,
    {
      name: 'every-file-has-a-room',
      severity: 'error',
      from: { path: `^src/(?!(${order.join('|')}|sim)/)` },
      to: {},
    },
    {
      name: 'sim-knows-no-judging',
      severity: 'error',
      from: { path: '^src/sim/' },
      to: {
        path: ['^src/(poll|run|analysis|compare|words|job|pool|sheet|desk|server|cli)/', '^web/', '^tests/'],
      },
    },
    {
      name: 'sim-is-for-desk-faces-and-tests',
      severity: 'error',
      from: { pathNot: ['^src/(sim|desk|cli|server)/', '^tests/'] },
      to: { path: '^src/sim/' },
    },
    {
      name: 'sheet-judges-nothing',
      severity: 'error',
      from: { path: '^src/sheet/' },
      to: {
        path: ['^src/(analysis|compare)/'],
        dependencyTypesNot: ['type-only'],
      },
    },
    {
      name: 'page-takes-types-only',
      severity: 'error',
      from: { path: '^web/' },
      to: {
        path: '^src/',
        pathNot: '^src/(words|core/(says|answers|hand-measures|complaint|languages|observations))',
        dependencyTypesNot: ['type-only'],
      },
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
