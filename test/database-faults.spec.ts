/** The database goes away, freezes, loses its last word or has no room: what callers are told, and what is recorded. */
import { randomUUID } from 'node:crypto';
import net, { type AddressInfo } from 'node:net';
import { setTimeout as pause } from 'node:timers/promises';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { pino } from 'pino';
import request from 'supertest';
import { ports } from '../src/opening/ports.js';
import { Database } from '../src/platform/database/database.js';
import { serviceUrl } from '../src/platform/database/service-role.js';
import { Closing } from '../src/platform/rest/availability.js';
import { noThreads } from '../src/platform/workers/pool.js';
import { makeServer } from '../src/server.js';
import { DatabaseProxy } from './harness/database-proxy.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let proxy: DatabaseProxy;
let database: Database;
let app: NestExpressApplication;
const closing = new Closing();
const faults: unknown[] = [];
beforeAll(async () => {
  shop = await startTestShop();
  proxy = await DatabaseProxy.before(serviceUrl(shop.adminUrl, 'frostwright_service'));
  database = new Database(proxy.url);
  const appContext = {
    database,
    clock: () => shop.clock.now,
    threads: noThreads,
    checkReplies: true,
    ports,
    reportFault: (error: unknown) => void faults.push(error),
  };
  app = await makeServer({
    appContext,
    log: pino({ level: 'silent' }),
    version: 'test',
    requestsPerMinute: 1e6,
    bodyPatience: 300,
    closing,
  });
  await app.listen(0, '127.0.0.1');
  database.watch();
});
// A busy machine may have held the database up; what is tested begins when it answers.
beforeEach(() => recovered());
afterEach(async () => {
  proxy.cutAfter = undefined;
  proxy.isAway = false;
  proxy.thaw();
  expect(faults.splice(0)).toEqual([]);
});
afterAll(async () => {
  await app.close();
  await database.close();
  await proxy.close();
  await shop.close();
});

const auth = () => ({ Authorization: `Bearer ${shop.keys.owner}` });
const get = (path: string) => request(app.getHttpServer()).get(path).set(auth());
const post = (path: string, body: Json, key: string = randomUUID()) =>
  request(app.getHttpServer()).post(`/v1${path}`).set(auth()).set('Idempotency-Key', key).send(body);
const placesNamed = async (name: string) =>
  ((await shop.rest('owner', 'get', '/places').expect(200)).body.items as Json[]).filter((one) => one.name === name)
    .length;
const place = (name: string) => ({ name, kind: 'bench' });

async function timed<T>(work: PromiseLike<T>): Promise<{ reply: T; milliseconds: number }> {
  const from = performance.now();
  return { reply: await work, milliseconds: performance.now() - from };
}
async function recovered(): Promise<void> {
  for (let k = 0; k < 100; k += 1) {
    if ((await get('/readyz')).status === 200) return;
    await pause(50);
  }
  throw new Error('It did not recover by itself');
}

describe('a commit whose acknowledgement is lost', () => {
  const loseCommit = () => {
    proxy.cutAfter = (sent) => /\bCOMMIT\b/.test(sent);
  };

  it('is told as an unknown outcome, which the same key settles', async () => {
    const key = randomUUID();
    loseCommit();
    const lost = await post('/places', place('Lost bench'), key);
    expect(lost.status).toBe(503);
    expect(lost.headers['retry-after']).toBeDefined();
    expect(lost.body.type).toBe('urn:frostwright:problem:outcome-unknown');
    expect(lost.body.detail).toContain('same Idempotency-Key');
    proxy.cutAfter = undefined;
    // It was kept all the same.
    expect(await placesNamed('Lost bench')).toBe(1);
    const again = await post('/places', place('Lost bench'), key);
    expect([again.status, again.headers['idempotency-replayed']]).toEqual([201, 'true']);
    expect(await placesNamed('Lost bench')).toBe(1);
  });

  it('is told so in GraphQL, too, and a read is told that nothing was changed', async () => {
    loseCommit();
    const query = 'mutation { createPlace(input: { name: "Lost shelf", kind: bench }) { id } }';
    const reply = await request(app.getHttpServer()).post('/graphql').set(auth()).send({ query });
    expect(reply.body.errors[0].extensions.code).toBe('outcome-unknown');
    const read = await get('/v1/places');
    expect([read.status, read.body.type]).toEqual([503, 'urn:frostwright:problem:database-away']);
  });
});

describe('a database that is away', () => {
  it('is told within two seconds with Retry-After, and what follows is answered once it is back', async () => {
    proxy.isAway = true;
    for (const path of ['/v1/places', '/v1/shop', '/readyz']) {
      const { reply, milliseconds } = await timed(get(path));
      expect([path, reply.status, reply.headers['retry-after']]).toEqual([path, 503, '3']);
      expect(milliseconds).toBeLessThan(2000);
    }
    proxy.isAway = false;
    await recovered();
    await get('/v1/places').expect(200);
  });
});

describe('a database that has frozen', () => {
  it('is noticed within two seconds by those who wait for it and by those who come', async () => {
    await get('/v1/places').expect(200);
    proxy.frozen = true;
    const waiting = [get('/v1/places'), get('/readyz'), post('/places', place('Frozen bench'))].map((one) =>
      timed(one),
    );
    for (const { reply, milliseconds } of await Promise.all(waiting)) {
      expect([reply.status, reply.headers['retry-after']]).toEqual([503, '3']);
      expect(milliseconds).toBeLessThan(2000);
    }
    const later = await timed(get('/v1/places'));
    expect(later.reply.status).toBe(503);
    expect(later.milliseconds).toBeLessThan(200);
    proxy.thaw();
    await recovered();
    expect(await placesNamed('Frozen bench')).toBe(0);
    await post('/places', place('Frozen bench')).expect(201);
    // Nothing is left over of what was broken off.
    await pause(100);
    expect(database.pool.totalCount - database.pool.idleCount).toBe(0);
  });
});

describe('a disk that is full', () => {
  it('is said in words; reads go on, and the service says that it is degraded until it can write again', async () => {
    const client = await shop.database.pool.connect();
    client.release();
    await asOwner(`create function no_room() returns trigger language plpgsql as $$
      begin raise exception 'could not extend file' using errcode = '53100'; end $$;
      create trigger no_room before insert on "Place" for each row execute function no_room()`);
    try {
      const refused = await post('/places', place('No room'));
      expect([refused.status, refused.body.type]).toEqual([507, 'urn:frostwright:problem:storage-full']);
      expect((await get('/readyz').expect(200)).body.status).toBe('degraded');
      await get('/v1/places').expect(200);
    } finally {
      await asOwner('drop trigger no_room on "Place"; drop function no_room()');
    }
    await post('/places', place('Room again')).expect(201);
    expect((await get('/readyz').expect(200)).body.status).toBe('ready');
  });
});

describe('a body that does not come', () => {
  it('is cut after a while without progress, not while it comes slowly', async () => {
    const { port } = app.getHttpServer().address() as AddressInfo;
    const body = JSON.stringify(place('Slow bench'));
    const send = (everyMilliseconds: number, parts: number) =>
      new Promise<string>((resolve) => {
        let answer = '';
        const socket = net.connect(port, '127.0.0.1', async () => {
          socket.write(
            `POST /v1/places HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer ${shop.keys.owner}\r\nContent-Type: ` +
              `application/json\r\nIdempotency-Key: ${randomUUID()}\r\nContent-Length: ${body.length}\r\nConnection: close\r\n\r\n`,
          );
          const size = Math.ceil(body.length / 8);
          for (let part = 0; part < parts; part += 1) {
            socket.write(body.slice(part * size, (part + 1) * size));
            await pause(everyMilliseconds);
          }
        });
        socket.on('data', (chunk) => (answer += chunk.toString())).on('close', () => resolve(answer));
      });
    expect(await send(150, 8)).toMatch(/^HTTP\/1.1 201 /);
    const { reply, milliseconds } = await timed(send(10, 3));
    expect(reply).toMatch(/^HTTP\/1.1 408 /);
    expect(milliseconds).toBeLessThan(1500);
  });
});

// Last, since nothing is served after it.
describe('a service that is stopped', () => {
  it('lets what is under way end, and ends what takes longer with a word', async () => {
    const lock = await shop.database.pool.connect();
    await lock.query('begin');
    await lock.query(`select set_config('app.shop_id', $1, true)`, [shop.shopId]);
    await lock.query('lock table "Place" in access exclusive mode');
    const long = get('/v1/places').then((reply) => reply);
    await pause(100);
    const ended = closing.begin(300);
    expect((await get('/v1/shop')).body.type).toBe('urn:frostwright:problem:closing');
    const reply = await long;
    expect([reply.status, reply.body.type, reply.headers['retry-after']]).toEqual([
      503,
      'urn:frostwright:problem:closing',
      '3',
    ]);
    await ended;
    await lock.query('rollback');
    lock.release();
  });
});

async function asOwner(sql: string): Promise<void> {
  const owner = new Database(shop.adminUrl, 1);
  try {
    await owner.pool.query(sql);
  } finally {
    await owner.close();
  }
}
