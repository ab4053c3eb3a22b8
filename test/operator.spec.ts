/** What an operator counts on: a limit on requests, and a log that tells what happened and no secret. */
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { pino } from 'pino';
import request from 'supertest';
import { ports } from '../src/opening/ports.js';
import { noThreads } from '../src/platform/workers/pool.js';
import { makeServer } from '../src/server.js';
import { createTestDatabase, type TestDatabase } from './harness/database.js';

let opened: TestDatabase;
let app: NestExpressApplication;
const lines: string[] = [];
beforeAll(async () => {
  opened = await createTestDatabase();
  const log = pino({ level: 'info', base: undefined }, { write: (line: string) => void lines.push(line) });
  const appContext = {
    database: opened.database,
    clock: () => new Date(),
    threads: noThreads,
    checkReplies: true,
    ports,
    reportFault: () => {},
  };
  app = await makeServer({ appContext, log, version: 'test', requestsPerMinute: 5 });
  await app.listen(0, '127.0.0.1');
});
afterAll(async () => {
  await app.close();
  await opened.close();
});

it('answers 429 with a problem beyond the limit, and goes on telling its health', async () => {
  const secret = 'fw_0123456789ab_AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA';
  const statuses: number[] = [];
  for (let index = 0; index < 7; index += 1) {
    const reply = await request(app.getHttpServer())
      .get('/v1/shop?token=hidden')
      .set('Authorization', `Bearer ${secret}`);
    statuses.push(reply.status);
    if (reply.status === 429) {
      expect(reply.headers['content-type']).toMatch(/^application\/problem\+json/);
      expect(reply.body.type).toBe('urn:frostwright:problem:too-many-requests');
    }
  }
  expect(statuses).toEqual([401, 401, 401, 401, 401, 429, 429]);
  expect((await request(app.getHttpServer()).get('/healthz')).status).toBe(200);
});

it('logs a line of JSON a request, without key or query', async () => {
  const requests = lines
    .map((line) => JSON.parse(line) as Record<string, unknown>)
    .filter((line) => line.msg === 'request');
  expect(requests.length).toBeGreaterThanOrEqual(8);
  expect(requests[0]).toMatchObject({ method: 'GET', path: '/v1/shop', status: 401 });
  expect(typeof requests[0]!.requestId).toBe('string');
  expect(lines.join('')).not.toMatch(/AAAAAAAA|hidden/);
});

it('sends the usual guards', async () => {
  const reply = await request(app.getHttpServer()).get('/healthz');
  expect(reply.headers['x-content-type-options']).toBe('nosniff');
  expect(reply.headers['content-security-policy']).toContain("default-src 'self'");
  expect(reply.headers['x-powered-by']).toBeUndefined();
});
