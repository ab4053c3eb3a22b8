/**
 * Malformed requests over every operation, through both transports: each must be answered with a 4xx that says what is
 * wrong, none with a 5xx, and nothing may be written by one that was refused.
 */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import request from 'supertest';
import type { z } from 'zod';
import { areas } from '../src/app.module.js';
import type { Operation } from '../src/platform/operation/operation.js';
import { scalarOf, unwrapSchema } from '../src/platform/shapes.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let other: { keys: { owner: string } };
beforeAll(async () => {
  shop = await startTestShop();
  other = await shop.anotherShop();
});
afterAll(() => shop.close());

const operations = areas.flatMap((area) => area.operations);
const nasty: Json[] = [
  '\u{1F9CA}\u{1F528}'.repeat(300),
  '\'; DROP TABLE "Machine"; --',
  '<script>alert(1)</script>',
  '../../etc/passwd%00',
  '\u0000',
  '\ud800',
  1e308,
  -1,
  99999999999999999999,
  0.1234567890123,
  true,
  null,
  [],
  {},
  { $gt: '' },
  [[[[[]]]]],
];

/** An input of the right form, as far as the shape tells: so that a bad value reaches further than the first check. */
function plausible(schema: z.ZodType): Json {
  const { inner, metas, optional, nullable } = unwrapSchema(schema);
  if (optional || nullable) return undefined;
  const def = inner._zod.def as { type: string; entries?: Record<string, string>; shape?: Record<string, z.ZodType> };
  switch (scalarOf(metas)) {
    case 'ID':
      return randomUUID();
    case 'Money':
      return '10.00';
    case 'Day':
      return '2026-09-01';
    case 'Instant':
      return '2026-09-01T10:00:00Z';
    case 'Int':
    case 'Float':
      return 1;
    default:
  }
  if (def.type === 'enum') return Object.values(def.entries ?? {})[0];
  if (def.type === 'object')
    return Object.fromEntries(Object.entries(def.shape ?? {}).map(([key, one]) => [key, plausible(one)]));
  if (def.type === 'array') return [];
  if (def.type === 'boolean') return true;
  if (def.type === 'number') return 1;
  return 'words';
}

interface Sent {
  path: string;
  body?: Json;
  key?: string | null;
  version?: string | null;
}

async function send(operation: Operation, sent: Sent) {
  const method = operation.rest.method.toLowerCase() as 'get' | 'post' | 'patch' | 'put' | 'delete';
  let made = request(shop.app.getHttpServer())[method](`/v1${sent.path}`);
  if (sent.key !== null) made = made.set('Authorization', `Bearer ${sent.key ?? shop.keys.owner}`);
  if (operation.creates) made = made.set('Idempotency-Key', randomUUID());
  if (operation.versioned && sent.version !== null) made = made.set('If-Match', sent.version ?? '"1"');
  if (sent.body !== undefined && method !== 'get' && method !== 'delete') made = made.send(sent.body);
  const reply = await made;
  return { status: reply.status, body: reply.body as Json, type: String(reply.headers['content-type'] ?? '') };
}

const pathWith = (operation: Operation, value: (name: string) => string) =>
  operation.rest.path.replace(/:(\w+)/g, (_, name: string) => encodeURIComponent(value(name)));

function requestsFor(operation: Operation): Sent[] {
  const names = [...operation.rest.path.matchAll(/:(\w+)/g)].map(([, name]) => name!);
  const fields = Object.keys(operation.input.shape).filter((name) => !names.includes(name) && name !== 'version');
  const good = Object.fromEntries(fields.map((name) => [name, plausible(operation.input.shape[name] as z.ZodType)]));
  const path = pathWith(operation, () => randomUUID());
  const hasBody = ['POST', 'PATCH', 'PUT'].includes(operation.rest.method);
  const text = (one: unknown) => (typeof one !== 'string' ? JSON.stringify(one) : one.isWellFormed() ? one : 'x');
  const asQuery = (values: Json) =>
    `${path}?${new URLSearchParams(Object.entries(values).map(([key, one]): [string, string] => [key, text(one)]))}`;
  const requests: Sent[] = [
    { path, body: good, key: null },
    { path, body: good, key: 'fw_000000000000_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA' },
    hasBody ? { path, body: { ...good, noSuchField: 1 } } : { path: asQuery({ noSuchField: 1 }) },
    { path, body: good, key: other.keys.owner },
  ];
  if (names.length > 0)
    for (const bad of ['7', "' OR 1=1 --", '\u{1F9CA}', '%00', '../shop'])
      requests.push({ path: pathWith(operation, () => bad), body: good });
  if (operation.versioned) requests.push({ path, body: good, version: null }, { path, body: good, version: '"999"' });
  if (hasBody) requests.push({ path, body: [] }, { path, body: {} });
  fields.forEach((name, at) => {
    // Each field gets a few of the bad values, in turn; over all operations every value meets every kind of field.
    for (let step = 0; step < 4; step += 1) {
      const bad = nasty[(at * 4 + step) % nasty.length];
      requests.push(hasBody ? { path, body: { ...good, [name]: bad } } : { path: asQuery({ ...good, [name]: bad }) });
    }
  });
  return requests;
}

describe('malformed requests', () => {
  it('over REST are refused with a problem, and never with a fault of ours', async () => {
    let count = 0;
    let refused = 0;
    const wrong: string[] = [];
    for (const operation of operations) {
      for (const sent of requestsFor(operation)) {
        const reply = await send(operation, sent);
        count += 1;
        if (reply.status >= 400 && reply.status < 500) {
          refused += 1;
          if (
            !reply.type.startsWith('application/problem+json') ||
            reply.body.status !== reply.status ||
            typeof reply.body.type !== 'string'
          )
            wrong.push(`${operation.name} ${sent.path}: ${reply.status} without a problem`);
        } else if (reply.status >= 500) {
          wrong.push(`${operation.name} ${sent.path} ${JSON.stringify(sent.body)}: ${reply.status}`);
        }
        if (/\n\s+at |node_modules|PrismaClient/.test(JSON.stringify(reply.body)))
          wrong.push(`${operation.name}: a stack or a name from inside in ${JSON.stringify(reply.body)}`);
        if (sent.key === null && reply.status !== 401) wrong.push(`${operation.name}: ${reply.status} without a key`);
      }
    }
    expect(wrong).toEqual([]);
    expect(count).toBeGreaterThan(200);
    expect(refused / count).toBeGreaterThan(0.7);
  }, 240_000);

  it('over GraphQL are answered with errors, and never with a fault of ours', async () => {
    const wrong: string[] = [];
    let count = 0;
    for (const operation of operations.filter((one) => one.kind === 'command')) {
      const Name = operation.name[0]!.toUpperCase() + operation.name.slice(1);
      const good = plausible(operation.input);
      const inputs: Json[] = [{}, null, 7, { ...good, noSuchField: 1 }, good];
      Object.keys(operation.input.shape).forEach((name, at) =>
        inputs.push({ ...good, [name]: nasty[at % nasty.length] }),
      );
      for (const input of inputs) {
        const reply = await shop.graphql(
          'owner',
          `mutation ($input: ${Name}Input!) { ${operation.name}(input: $input) { __typename } }`,
          { input },
        );
        count += 1;
        for (const error of reply.errors ?? [])
          if (error.extensions?.code === 'fault') wrong.push(`${operation.name} ${JSON.stringify(input)}`);
      }
    }
    expect(wrong).toEqual([]);
    expect(count).toBeGreaterThan(100);
  }, 240_000);
});
