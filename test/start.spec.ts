/** `npm start` as a person meets it: from nothing to a serving shop, again, and when it cannot be. */
import { execFile } from 'node:child_process';
import { once } from 'node:events';
import fs from 'node:fs';
import net from 'node:net';
import os from 'node:os';
import path from 'node:path';
import { afterAll, afterEach, beforeAll, expect, it, jest } from '@jest/globals';
import { projectRoot } from '../src/platform/launch/root.js';
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
  const elsewhere = start('other', ['--empty'], { PORT: port, LOG_LEVEL: 'info' });
  expect(await elsewhere.end()).toBe(1);
  expect(elsewhere.err).toContain(`Port ${port} on 127.0.0.1 is taken. Set PORT to another one`);
  expect(elsewhere.err).not.toMatch(/ {4}at |EADDRINUSE/);
  // No shop was opened whose owner's key nobody has seen.
  const free = start('other', ['--empty']);
  await free.address();
  expect(free.ownerKey).toMatch(/^fw_/);
  expect(await second.stop('SIGTERM')).toBe(0);
});

/** A command at the prompt, on the folder of a service that runs. */
function run(folder: string, ...args: string[]): Promise<{ code: unknown; out: string; err: string }> {
  const { PATH = '', HOME = '' } = process.env;
  return new Promise((resolve) => {
    execFile(
      process.execPath,
      [path.join(projectRoot, 'src/platform/launch/run.mjs'), ...args],
      { env: { PATH, HOME, DATA_DIR: path.join(base, folder) } },
      (error, out, err) => resolve({ code: error?.code ?? 0, out, err }),
    );
  });
}

it('opens a bare shop with the settings given, and others beside it', async () => {
  const unwrapSchema = start('bare', [
    '--empty',
    '--currency',
    'EUR',
    '--time-zone=Europe/Oslo',
    '--latitude',
    '59.9',
    '--longitude',
    '-10.7',
    '--name',
    'Fjell',
  ]);
  const address = await unwrapSchema.address();
  expect((await ask(address, '/v1/machines', unwrapSchema.ownerKey)).body.items).toEqual([]);
  expect(unwrapSchema.err).not.toContain('Loading the demo');
  const settings = { name: 'Fjell', currency: 'EUR', timeZone: 'Europe/Oslo', latitude: 59.9, longitude: -10.7 };
  expect((await ask(address, '/v1/shop', unwrapSchema.ownerKey)).body).toMatchObject(settings);

  const lacking = await run('bare', 'shops', 'add', '--name', 'Second', '--currency', 'JPY');
  expect(lacking).toMatchObject({
    code: 2,
    err: expect.stringContaining('A shop also needs --time-zone, --latitude, --longitude'),
  });
  const added = await run(
    'bare',
    'shops',
    'add',
    '--name',
    'Second',
    '--currency',
    'JPY',
    '--time-zone',
    'Asia/Tokyo',
    '--latitude',
    '35',
    '--longitude',
    '135.7',
    '--hourly-value',
    '1500',
  );
  expect(added).toMatchObject({ code: 0, err: '' });
  const key = /Owner key (fw_\S+)/.exec(added.out)![1]!;
  expect((await ask(address, '/v1/shop', key)).body).toMatchObject({
    name: 'Second',
    currency: 'JPY',
    hourlyValue: '1500',
  });
  expect((await ask(address, '/v1/routes', key)).body.items!.length).toBeGreaterThan(0);
  const listed = (await run('bare', 'shops')).out.trim().split('\n');
  expect(listed).toEqual([
    expect.stringContaining('Fjell: amounts in EUR, time zone Europe/Oslo, at 59.9, -10.7'),
    expect.stringContaining('Second: amounts in JPY'),
  ]);

  // With two shops a key must be said to be for one of them.
  expect(await run('bare', 'keys', 'add', 'helper', 'Tobin')).toMatchObject({
    code: 2,
    err: expect.stringContaining('Say which shop the key is for'),
  });
  const helper = await run('bare', 'keys', 'add', 'helper', 'Tobin', '--shop', 'Second');
  const helperKey = helper.out.split('\n')[0]!;
  expect((await ask(address, '/v1/machines', helperKey)).status).toBe(200);
  const keys = await run('bare', 'keys');
  expect(keys.out).toMatch(/Fjell[^]*owner {3}Owner\n[^]*Second[^]*owner {3}Owner\n[^]*helper {2}Tobin/);
  expect(await run('bare', 'keys', 'archive', helperKey.split('_')[1]!)).toMatchObject({
    code: 0,
    out: expect.stringContaining('Tobin'),
  });
  expect((await ask(address, '/v1/machines', helperKey)).status).toBe(401);
  const briefing = await run('bare', 'briefing');
  expect(briefing).toMatchObject({ code: 0, err: '' });
  expect(briefing.out).toMatch(/Briefing for Fjell.*EUR[^]*\n\nBriefing for Second.*JPY/);
});

it("names what is wrong with a shop's settings, and opens none", async () => {
  const wrong = start('unopened', [
    '--empty',
    '--currency',
    'EURO',
    '--latitude',
    '95',
    '--time-zone',
    'Oslo',
    '--hourly-value',
    '1,50',
  ]);
  expect(await wrong.end()).toBe(2);
  expect(wrong.err).toContain('--currency="EURO" must be a currency code of ISO 4217');
  expect(wrong.err).toContain('--latitude="95" must be at most 90.');
  expect(wrong.err).toContain('--time-zone="Oslo" must be an IANA time zone');
  expect(wrong.err).toContain('--hourly-value="1,50" must be digits with at most one point');
  const fine = start('unopened', ['--empty', '--currency', 'JPY', '--hourly-value', '0.50']);
  expect(await fine.end()).toBe(2);
  expect(fine.err).toMatch(/--hourly-value="0.50" .*JPY has 0/);
  for (const [args, told] of [
    [['--empty', '--cash', 'EUR'], '"--cash" is no setting of a shop. There are --name,'],
    [['--currency', 'EUR'], '"npm start -- --empty" opens a bare shop'],
    [['--empty', '--name'], '--name needs a value'],
  ] as const) {
    const one = start('unopened', [...args]);
    expect(await one.end()).toBe(2);
    expect(one.err).toContain(told);
  }
  expect(fs.existsSync(path.join(base, 'unopened'))).toBe(false);
});

it('is stopped in the middle of its first start without complaint, and starts anew', async () => {
  const stopped = start('stopped');
  while (!stopped.err.includes('Loading the demo')) await new Promise((resolve) => setTimeout(resolve, 20));
  await new Promise((resolve) => setTimeout(resolve, 500));
  expect(await stopped.stop('SIGINT')).toBe(0);
  expect(stopped.err.trim().split('\n').at(-1)).toContain('Loading the demo');
  const again = start('stopped', ['--empty']);
  await again.address();
  expect(again.ownerKey).toMatch(/^fw_/);
});

it('says in one line why it cannot start', async () => {
  const taken = net.createServer().listen(0, '127.0.0.1');
  await once(taken, 'listening');
  taken.close();
  const unreachable = start('none', [], {
    DATABASE_URL: `postgresql://a:b@127.0.0.1:${(taken.address() as net.AddressInfo | null)?.port ?? 1}/shop`,
  });
  expect(await unreachable.end()).toBe(1);
  expect(unreachable.err).toMatch(/The database at 127\.0\.0\.1:\d+\/shop: It cannot be reached/);
  const wrong = start('none', [], { PORT: '70000' });
  expect(await wrong.end()).toBe(2);
  expect(wrong.err).toMatch(/PORT="70000" is not usable/);
});
