/** `npm start` as a person meets it: from nothing to a serving shop, again, and when it cannot be. */
import { spawn, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import fs from 'node:fs';
import net from 'node:net';
import os from 'node:os';
import path from 'node:path';
import { afterAll, afterEach, beforeAll, expect, it, jest } from '@jest/globals';
import { projectRoot } from '../src/platform/launch/root.js';

jest.setTimeout(120_000);

let base: string;
const started: Start[] = [];
beforeAll(() => {
  base = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-start-'));
});
afterEach(async () => {
  for (const start of started.splice(0)) await start.stop('SIGKILL');
});
afterAll(() => fs.rmSync(base, { recursive: true, force: true }));

class Start {
  out = '';
  err = '';
  private readonly child: ChildProcess;
  private readonly ended: Promise<unknown[]>;

  constructor(folder: string, args: string[] = [], env: Record<string, string> = {}) {
    const { PATH = '', HOME = '' } = process.env;
    this.child = spawn(process.execPath, [path.join(projectRoot, 'src/platform/launch/start.mjs'), ...args], {
      env: { PATH, HOME, PORT: '0', LOG_LEVEL: 'silent', DATA_DIR: path.join(base, folder), ...env },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    this.child.stdout!.on('data', (chunk) => (this.out += chunk));
    this.child.stderr!.on('data', (chunk) => (this.err += chunk));
    this.ended = once(this.child, 'close');
    started.push(this);
  }

  async end(): Promise<number | null> {
    return (await this.ended)[0] as number | null;
  }

  stop(signal: NodeJS.Signals): Promise<number | null> {
    this.child.kill(signal);
    return this.end();
  }

  /** Where it serves, once it has greeted. */
  async address(): Promise<string> {
    for (;;) {
      const address = /REST\s+(http:\/\/\S+)\/v1[^]*Ctrl-C stops/.exec(this.out)?.[1];
      if (address) return address;
      if (this.child.exitCode !== null || this.child.signalCode !== null) throw new Error(`It ended:\n${this.out}\n${this.err}`);
      await new Promise((resolve) => setTimeout(resolve, 20));
    }
  }
}

const ask = async (address: string, where: string, key?: string) => {
  const response = await fetch(address + where, { headers: key ? { Authorization: `Bearer ${key}` } : {} });
  return { status: response.status, body: (await response.json()) as { items?: unknown[] } };
};

it('loads the demo once, shows the key once, serves it on loopback, and keeps it', async () => {
  const first = new Start('demo');
  const address = await first.address();
  expect(new URL(address).hostname).toBe('127.0.0.1');
  expect(first.err).toContain('Loading the demo shop');
  const key = /Owner key (fw_\w+_[\w-]+)/.exec(first.out)![1]!;
  expect((await ask(address, '/readyz')).status).toBe(200);
  expect((await ask(address, '/v1/machines')).status).toBe(401);
  const machines = await ask(address, '/v1/machines?first=100', key);
  expect(machines.status).toBe(200);
  expect(machines.body.items!.length).toBeGreaterThanOrEqual(14);
  expect(await first.stop('SIGINT')).toBe(0);

  const began = Date.now();
  const second = new Start('demo');
  const again = await second.address();
  // Seconds, not minutes: generous, for a busy machine.
  expect(Date.now() - began).toBeLessThan(30_000);
  expect(second.err).not.toMatch(/Loading the demo|Making a new database/);
  expect(second.out).not.toContain(key);
  expect((await ask(again, '/v1/machines?first=100', key)).body.items).toHaveLength(machines.body.items!.length);

  const { port } = new URL(again);
  const elsewhere = new Start('other', ['--empty'], { PORT: port });
  expect(await elsewhere.end()).toBe(1);
  expect(elsewhere.err).toContain(`Port ${port} on 127.0.0.1 is taken. Set PORT to another one`);
  expect(elsewhere.err).not.toContain('    at ');
  expect(await second.stop('SIGTERM')).toBe(0);
});

it('opens a bare shop when told to', async () => {
  const bare = new Start('bare', ['--empty']);
  const address = await bare.address();
  const key = /Owner key (fw_\w+_[\w-]+)/.exec(bare.out)![1]!;
  expect((await ask(address, '/v1/machines', key)).body.items).toEqual([]);
  expect(bare.err).not.toContain('Loading the demo');
});

it('says in one line why it cannot start', async () => {
  const taken = net.createServer().listen(0, '127.0.0.1');
  await once(taken, 'listening');
  taken.close();
  const unreachable = new Start('none', [], { DATABASE_URL: `postgresql://a:b@127.0.0.1:${(taken.address() as net.AddressInfo | null)?.port ?? 1}/shop` });
  expect(await unreachable.end()).toBe(1);
  expect(unreachable.err).toMatch(/The database at 127\.0\.0\.1:\d+\/shop: It cannot be reached/);
  const wrong = new Start('none', [], { PORT: '70000' });
  expect(await wrong.end()).toBe(2);
  expect(wrong.err).toMatch(/PORT="70000" is not usable/);
});
