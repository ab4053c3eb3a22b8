/** `npm start` as a person meets it: from nothing to a serving shop, again, and when it cannot be. */
import { once } from 'node:events';
import fs from 'node:fs';
import net from 'node:net';
import os from 'node:os';
import path from 'node:path';
import { afterAll, afterEach, beforeAll, expect, it, jest } from '@jest/globals';
import { Start } from './harness/start.js';

jest.setTimeout(120_000);

let base: string;
const started: Start[] = [];
beforeAll(() => {
  base = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-start-'));
});
afterEach(async () => {
  for (const one of started.splice(0)) await one.stop('SIGKILL');
});
afterAll(() => fs.rmSync(base, { recursive: true, force: true }));

function start(folder: string, args: string[] = [], env: Record<string, string> = {}): Start {
  const one = new Start(path.join(base, folder), args, env);
  started.push(one);
  return one;
}

const ask = async (address: string, where: string, key?: string) => {
  const response = await fetch(address + where, { headers: key ? { Authorization: `Bearer ${key}` } : {} });
  return { status: response.status, body: (await response.json()) as { items?: unknown[] } };
};

it('loads the demo once, shows the key once, serves it on loopback, and keeps it', async () => {
  const first = start('demo');
  const address = await first.address();
  expect(new URL(address).hostname).toBe('127.0.0.1');
  expect(first.err).toContain('Loading the demo shop');
  const key = first.ownerKey;
  expect((await ask(address, '/readyz')).status).toBe(200);
  expect((await ask(address, '/v1/machines')).status).toBe(401);
  const machines = await ask(address, '/v1/machines?first=100', key);
  expect(machines.status).toBe(200);
  expect(machines.body.items!.length).toBeGreaterThanOrEqual(14);
  expect(await first.stop('SIGINT')).toBe(0);

  const began = Date.now();
  const second = start('demo');
  const again = await second.address();
  // Seconds, not minutes: generous, for a busy machine.
  expect(Date.now() - began).toBeLessThan(30_000);
  expect(second.err).not.toMatch(/Loading the demo|Making a new database/);
  expect(second.out).not.toContain(key);
  expect((await ask(again, '/v1/machines?first=100', key)).body.items).toHaveLength(machines.body.items!.length);

  const { port } = new URL(again);
  const elsewhere = start('other', ['--empty'], { PORT: port });
  expect(await elsewhere.end()).toBe(1);
  expect(elsewhere.err).toContain(`Port ${port} on 127.0.0.1 is taken. Set PORT to another one`);
  expect(elsewhere.err).not.toContain('    at ');
  expect(await second.stop('SIGTERM')).toBe(0);
});

it('opens a bare shop when told to', async () => {
  const bare = start('bare', ['--empty']);
  const address = await bare.address();
  const key = bare.ownerKey;
  expect((await ask(address, '/v1/machines', key)).body.items).toEqual([]);
  expect(bare.err).not.toContain('Loading the demo');
});

it('says in one line why it cannot start', async () => {
  const taken = net.createServer().listen(0, '127.0.0.1');
  await once(taken, 'listening');
  taken.close();
  const unreachable = start('none', [], { DATABASE_URL: `postgresql://a:b@127.0.0.1:${(taken.address() as net.AddressInfo | null)?.port ?? 1}/shop` });
  expect(await unreachable.end()).toBe(1);
  expect(unreachable.err).toMatch(/The database at 127\.0\.0\.1:\d+\/shop: It cannot be reached/);
  const wrong = start('none', [], { PORT: '70000' });
  expect(await wrong.end()).toBe(2);
  expect(wrong.err).toMatch(/PORT="70000" is not usable/);
});
