/** Who may import whom. `npm test` holds the project to it. */
// Lowest first: an area imports only areas below it.
const layers = [
  'shop',
  'machines',
  'ledger',
  'work',
  'diagnosis',
  'stock',
  'catalogue',
  'purchasing',
  'season',
  'finish',
  'pictures',
  'plan',
  'cost',
  'resale',
  'desk',
  'pages',
];
const areas = `^src/(${layers.join('|')})/`;
const spec = '\\.spec\\.tsx?$';

/** @type {import('dependency-cruiser').IConfiguration} */
module.exports = {
  forbidden: [
    {
      name: 'engine-is-pure',
      comment: 'The engine computes and nothing else: it knows no framework, no database and no system.',
      severity: 'error',
      from: { path: '^src/engine/', pathNot: spec },
      to: { pathNot: ['^src/engine/', '(^|/)node_modules/(decimal\\.js|temporal-polyfill|pure-rand)/'] },
    },
    {
      name: 'platform-knows-no-area',
      comment: 'Areas stand on the platform, not the other way round.',
      severity: 'error',
      from: { path: '^src/platform/', pathNot: spec },
      to: { path: [areas, '^src/[^/]+\\.ts$', '^seed/'] },
    },
    ...layers.slice(0, -1).map((area, height) => ({
      name: `${area}-imports-only-below`,
      comment:
        'An area imports only areas below it; what it needs of a higher one is a port that the higher one fills.',
      severity: 'error',
      from: { path: `^src/${area}/`, pathNot: spec },
      to: { path: `^src/(${layers.slice(height + 1).join('|')})/` },
    })),
    {
      name: 'transport-is-private',
      comment: "No area goes through another's transport.",
      severity: 'error',
      from: { path: '^src/([^/]+)/' },
      to: { path: '\\.(controller|resolver)\\.ts$', pathNot: '^src/$1/' },
    },
    {
      name: 'operations-know-no-transport',
      comment: 'Transport calls operations; operations call queries and the engine.',
      severity: 'error',
      from: { path: '\\.(operations|queries|shapes)\\.ts$' },
      to: { path: ['(^|/)node_modules/(@nestjs|@apollo|graphql|express)/', '\\.(controller|resolver|module)\\.ts$'] },
    },
    {
      name: 'queries-only-read',
      comment: 'A query calls no operation.',
      severity: 'error',
      from: { path: '\\.(queries|shapes)\\.ts$' },
      to: { path: '\\.operations\\.ts$' },
    },
    {
      name: 'threads-load-little',
      comment: 'What a thread computes it loads: plain functions and the engine, no framework and no database.',
      severity: 'error',
      from: { path: '^src/.+/worker-tasks\\.ts$' },
      to: {
        reachable: true,
        path: [
          '(^|/)node_modules/(@nestjs|@apollo|@prisma|pg|graphql|express|zod)/',
          '^src/platform/database/',
          '\\.(operations|queries|shapes|module|controller)\\.ts$',
        ],
      },
    },
    {
      name: 'no-circle',
      comment: 'A circle has no inside and no outside. Types alone may point back.',
      severity: 'error',
      from: {},
      to: { circular: true, viaOnly: { dependencyTypesNot: ['type-only'] } },
    },
    {
      name: 'service-knows-no-test',
      severity: 'error',
      from: { path: '^(src|seed|prisma)/', pathNot: spec },
      to: { path: ['^test/', spec] },
    },
    {
      name: 'service-needs-no-test-library',
      comment: 'What the service imports must be a dependency, not only a devDependency.',
      severity: 'error',
      from: { path: '^(src|seed|prisma)/', pathNot: [spec, '^src/platform/launch/.*\\.mjs$'] },
      to: { dependencyTypes: ['npm-dev'], dependencyTypesNot: ['type-only'] },
    },
    {
      name: 'declared',
      comment: 'What is imported must exist and be named in package.json.',
      severity: 'error',
      from: { pathNot: '^src/platform/database/client/' },
      to: { dependencyTypes: ['npm-no-pkg', 'npm-unknown', 'unknown'] },
    },
  ],
  options: {
    doNotFollow: { path: ['node_modules', '^src/platform/database/client/'] },
    exclude: { path: '^\\.build/' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    skipAnalysisNotInRules: true,
    enhancedResolveOptions: { exportsFields: ['exports'], conditionNames: ['import', 'node', 'default', 'types'] },
  },
};
