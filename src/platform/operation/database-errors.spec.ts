import net from 'node:net';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { Database } from '../database/database.js';
import { problemOf } from '../problems/problem.js';
import { asDomainError } from './database-errors.js';

/** Takes connections and says nothing, as a database does that has none to spare. */
const sockets: net.Socket[] = [];
const silent = net.createServer((socket) => void sockets.push(socket.on('error', () => {})));
beforeAll(() => new Promise<void>((resolve) => silent.listen(0, '127.0.0.1', resolve)));
afterAll(async () => {
  for (const socket of sockets) socket.destroy();
  await new Promise((resolve) => silent.close(resolve));
});

it('no connection in time is told as busy, not as a fault of ours', async () => {
  const { port } = silent.address() as net.AddressInfo;
  const database = new Database(`postgresql://nobody@127.0.0.1:${port}/none`);
  const thrown = await database.prisma
    .$transaction(() => Promise.resolve(1), { maxWait: 50 })
    .catch((error: unknown) => error);
  expect(problemOf(asDomainError(thrown))).toMatchObject({
    status: 503,
    type: 'urn:frostwright:problem:too-busy',
    detail: expect.stringContaining('again'),
  });
  void database.close().catch(() => {});
});
