/** What HTTP itself offers a client: packed replies, tags, other origins; and what it must not give away. */
import { randomUUID } from 'node:crypto';
import http from 'node:http';
import type { AddressInfo } from 'node:net';
import { gunzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { pino } from 'pino';
import request from 'supertest';
import { ports } from '../src/opening/ports.js';
import { noThreads } from '../src/platform/workers/pool.js';
import { makeServer } from '../src/server.js';
import { startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let guarded: NestExpressApplication;
const lines: string[] = [];
const faults: string[] = [];
beforeAll(async () => {
  shop = await startTestShop();
  for (let at = 0; at < 30; at += 1)
    await shop.rest('owner', 'post', '/places', { name: `Bench number ${at}`, kind: 'bench' }).expect(201);
  const appContext = {
    database: shop.database,
    clock: () => shop.clock.now,
    threads: noThreads,
    checkReplies: true,
    ports,
    openMetrics: false,
    reportFault: (error: unknown, where: string) => void faults.push(`${where} ${String(error)}`),
  };
  const log = pino({ level: 'info', base: undefined }, { write: (line: string) => void lines.push(line) });
  guarded = await makeServer({
    appContext,
    log,
    version: 'test',
    requestsPerMinute: 1e6,
    corsOrigins: ['https://shop.example'],
  });
  await guarded.listen(0, '127.0.0.1');
});
afterAll(async () => {
  await guarded.close();
  await shop.close();
});

const get = (path: string) =>
  request(guarded.getHttpServer()).get(path).set('Authorization', `Bearer ${shop.keys.owner}`);

/** The bytes as they come over the wire. */
function raw(
  path: string,
  headers: Record<string, string | string[]>,
  body?: string,
): Promise<{ status: number; headers: http.IncomingHttpHeaders; body: Buffer }> {
  const { port } = guarded.getHttpServer().address() as AddressInfo;
  return new Promise((resolve, reject) => {
    const sent = http.request(
      {
        port,
        host: '127.0.0.1',
        path,
        method: body ? 'POST' : 'GET',
        headers: { Authorization: `Bearer ${shop.keys.owner}`, ...headers },
      },
      (response) => {
        const parts: Buffer[] = [];
        response.on('data', (part: Buffer) => parts.push(part));
        response.on('end', () =>
          resolve({ status: response.statusCode!, headers: response.headers, body: Buffer.concat(parts) }),
        );
      },
    );
    sent.on('error', reject);
    sent.end(body);
  });
}

describe('packing', () => {
  it('makes a long list shorter, and leaves alone a record whose tag is sent back in If-Match', async () => {
    const plain = await raw('/v1/places?first=30', {});
    const packed = await raw('/v1/places?first=30', { 'Accept-Encoding': 'gzip' });
    expect(packed.headers['content-encoding']).toBe('gzip');
    expect(packed.headers.vary).toMatch(/Accept-Encoding/);
    expect(packed.body.length).toBeLessThan(plain.body.length / 3);
    expect(gunzipSync(packed.body).equals(plain.body)).toBe(true);
    expect((await raw('/v1/shop', { 'Accept-Encoding': 'gzip' })).headers['content-encoding']).toBeUndefined();
  });

  it.each(['/openapi.json', '/docs', '/schema.graphql'])(
    '%s is kept ready, packed or not, and not sent twice',
    async (path) => {
      const plain = await raw(path, {});
      const packed = await raw(path, { 'Accept-Encoding': 'gzip' });
      expect(gunzipSync(packed.body).equals(plain.body)).toBe(true);
      const again = await raw(path, { 'Accept-Encoding': 'gzip', 'If-None-Match': String(packed.headers.etag) });
      expect([again.status, again.body.length]).toEqual([304, 0]);
      expect((await raw(path, { 'If-None-Match': '"another"' })).status).toBe(200);
    },
  );
});

describe('tags', () => {
  it('tell that a list is still the same, until it is not', async () => {
    const list = await get('/v1/places').expect(200);
    expect(list.headers['cache-control']).toBe('private, no-cache');
    await get('/v1/places').set('If-None-Match', list.headers.etag!).expect(304);
    await shop.rest('owner', 'post', '/places', { name: 'One more', kind: 'bench' }).expect(201);
    await get('/v1/places').set('If-None-Match', list.headers.etag!).expect(200);
  });
});

describe('pages of another origin', () => {
  it('are let in where it is set so, and not otherwise', async () => {
    const asked = await get('/v1/places').set('Origin', 'https://shop.example').expect(200);
    expect(asked.headers['access-control-allow-origin']).toBe('https://shop.example');
    expect(asked.headers['access-control-expose-headers']).toMatch(/ETag/);
    const preflight = await request(guarded.getHttpServer()).options('/v1/places').set({
      Origin: 'https://shop.example',
      'Access-Control-Request-Method': 'POST',
      'Access-Control-Request-Headers': 'authorization,idempotency-key',
    });
    expect(preflight.status).toBe(204);
    expect(preflight.headers['access-control-allow-headers']).toMatch(/idempotency-key/);
    expect(
      (await get('/v1/places').set('Origin', 'https://other.example')).headers['access-control-allow-origin'],
    ).toBeUndefined();
    const closed = await shop.rest('owner', 'get', '/places', undefined, {
      headers: { Origin: 'https://shop.example' },
    });
    expect(closed.headers['access-control-allow-origin']).toBeUndefined();
  });
});

describe('what is not given away', () => {
  it('the measures need an owner’s key, and count what there is to count', async () => {
    await request(guarded.getHttpServer()).get('/metrics').expect(401);
    await request(guarded.getHttpServer())
      .get('/metrics')
      .set('Authorization', `Bearer ${shop.keys.reader}`)
      .expect(403);
    const { text } = await get('/metrics').expect(200);
    for (const name of [
      'frostwright_request_seconds',
      'frostwright_waiting{for="plan"}',
      'frostwright_waiting{for="slow place"}',
      'frostwright_database_connections{use="idle"}',
      'frostwright_oldest_plan_seconds',
      'frostwright_database_away 0',
    ])
      expect(text).toContain(name);
  });

  it('a key that somebody wrote into the address is not logged', async () => {
    const key = shop.keys.owner;
    for (const path of [`/v1/${key}`, `/v1/places/${key}`, `/v1/places/%66w${key.slice(2)}`]) await get(path);
    await get('/v1/places').set('X-Request-Id', key);
    const secret = key.split('_')[2]!;
    expect(lines.join('')).not.toContain(secret);
    expect(faults).toEqual([]);
  });

  it('an index of the database is not named', async () => {
    const body = { name: 'Twice', kind: 'bench' };
    await shop.rest('owner', 'post', '/suppliers', { name: 'Twice' });
    const again = await shop.rest('owner', 'post', '/suppliers', { name: 'Twice' });
    if (again.status === 409) expect(again.body.detail).toBe('The shop already has one with the same name.');
    expect(JSON.stringify(again.body)).not.toMatch(/_key|_idx|shopId/);
    void body;
  });
});

it('two Idempotency-Key headers are refused: nobody can tell which is meant', async () => {
  const body = JSON.stringify({ name: 'Two keys', kind: 'bench' });
  const reply = await raw(
    '/v1/places',
    { 'Content-Type': 'application/json', 'Idempotency-Key': [randomUUID(), randomUUID()] },
    body,
  );
  expect(reply.status).toBe(400);
  expect(JSON.parse(reply.body.toString()).type).toMatch(/bad-idempotency-key$/);
});
