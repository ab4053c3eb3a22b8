/** Starting, stopping and being killed, with real processes and a real database in a data folder of its own. */
import { type ChildProcess, execFile, execFileSync, spawn } from 'node:child_process';
import { once } from 'node:events';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it, jest } from '@jest/globals';
import pg from 'pg';
import { isAlive } from '../src/platform/database/embedded/process.js';
import { projectRoot } from '../src/platform/launch/root.js';

jest.setTimeout(60_000);

let base: string;
let dataDir: string;
const started: Probe[] = [];

beforeAll(async () => {
  base = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-launch-'));
  fs.chmodSync(base, 0o755);
  dataDir = path.join(base, 'data');
  // Compiles what the processes below run, as every start does.
  const prepare = path.join(projectRoot, 'src/platform/launch/prepare.mjs');
  expect(await outcome(['-e', 'import(process.argv[1]).then((module) => module.prepare())', prepare])).toMatchObject({
    code: 0,
  });
});
afterEach(async () => {
  for (const probe of started.splice(0)) await probe.stop('SIGKILL');
});
afterAll(() => fs.rmSync(base, { recursive: true, force: true }));

const probeFile = path.join(projectRoot, 'test/harness/open-database.mjs');

/** A process that has the database open. */
class Probe {
  output = '';
  private readonly child: ChildProcess;
  private readonly ended: Promise<unknown[]>;

  constructor(env: Record<string, string>, args: string[] = []) {
    this.child = spawn(process.execPath, [probeFile, ...args], {
      env: { ...cleanEnvironment(), DATA_DIR: dataDir, ...env },
    });
    for (const stream of [this.child.stdout!, this.child.stderr!]) stream.on('data', (chunk) => (this.output += chunk));
    this.ended = once(this.child, 'exit');
    started.push(this);
  }

  async says(pattern: RegExp): Promise<RegExpExecArray> {
    for (;;) {
      const match = pattern.exec(this.output);
      if (match) return match;
      if (this.child.exitCode !== null || this.child.signalCode !== null)
        throw new Error(`It ended without saying ${pattern}:\n${this.output}`);
      await new Promise((resolve) => setTimeout(resolve, 10));
    }
  }

  /** Its database, once that is open. */
  async url(): Promise<string> {
    return JSON.parse((await this.says(/ready (\{.*\})\n/))[1]!).adminUrl;
  }

  tell(line: string): void {
    this.child.stdin!.write(`${line}\n`);
  }

  async stop(signal: NodeJS.Signals): Promise<number | null> {
    this.child.kill(signal);
    return (await this.ended)[0] as number | null;
  }
}

function cleanEnvironment(): Record<string, string> {
  const { PATH = '', HOME = '' } = process.env;
  return { PATH, HOME };
}

function outcome(
  args: string[],
  env: Record<string, string> = {},
): Promise<{ code: number; out: string; err: string }> {
  return new Promise((resolve) => {
    execFile(process.execPath, args, { env: { ...cleanEnvironment(), DATA_DIR: dataDir, ...env } }, (error, out, err) =>
      resolve({ code: error ? Number(error.code) : 0, out, err }),
    );
  });
}

async function inDatabase<T>(url: string, work: (client: pg.Client) => Promise<T>): Promise<T> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return await work(client);
  } finally {
    await client.end();
  }
}

const serverPid = () => Number.parseInt(fs.readFileSync(path.join(dataDir, 'postgres/postmaster.pid'), 'utf8'), 10);

/** Every process and who started it; from /proc where there is one, as small containers have no `ps`. */
function parents(): Map<number, number> {
  const lines =
    process.platform === 'linux'
      ? fs
          .readdirSync('/proc')
          .map((pid) => readIfThere(`/proc/${pid}/stat`).replace(/^(\d+) \(.*\) \S (\d+) .*/s, '$1 $2'))
      : execFileSync('ps', ['-Ao', 'pid=,ppid='], { encoding: 'utf8' }).split('\n');
  return new Map(lines.map((line) => line.trim().split(/\s+/).map(Number) as [number, number]));
}

function readIfThere(file: string): string {
  try {
    return fs.readFileSync(file, 'utf8');
  } catch {
    return '';
  }
}

async function untilGone(pid: number): Promise<void> {
  while (isAlive(pid)) await new Promise((resolve) => setTimeout(resolve, 20));
}

describe('the embedded database', () => {
  it('is made once, kept, and stopped with the process by either signal', async () => {
    const first = new Probe({});
    const url = await first.url();
    expect(first.output).toContain('Making a new database');
    expect(first.output).toContain('Preparing the database');
    expect(new URL(url).hostname).toBe('127.0.0.1');
    await inDatabase(url, (client) => client.query('create table kept (n int); insert into kept values (7)'));
    const pid = serverPid();
    expect(await first.stop('SIGINT')).toBe(0);
    expect(isAlive(pid)).toBe(false);

    const second = new Probe({});
    const { rows } = await inDatabase(await second.url(), (client) => client.query('select n from kept'));
    expect(rows).toEqual([{ n: 7 }]);
    expect(second.output).not.toContain('Making a new database');
    expect(await second.stop('SIGTERM')).toBe(0);
    expect(fs.readdirSync(dataDir).sort()).toEqual(['password', 'postgres', 'postgres.log']);
  });

  it('keeps its password to the user who made it, and writes safely', async () => {
    expect(fs.statSync(path.join(dataDir, 'password')).mode & 0o777).toBe(0o600);
    expect(fs.statSync(path.join(dataDir, 'postgres')).mode & 0o777).toBe(0o700);
    const probe = new Probe({});
    const url = new URL(await probe.url());
    const { rows } = await inDatabase(url.href, (client) =>
      client.query(
        `select name, setting from pg_settings where name in ('fsync', 'synchronous_commit', ` +
          `'full_page_writes', 'listen_addresses', 'data_checksums') order by name`,
      ),
    );
    expect(Object.fromEntries(rows.map(({ name, setting }) => [name, setting]))).toEqual({
      data_checksums: 'on',
      fsync: 'on',
      full_page_writes: 'on',
      listen_addresses: '127.0.0.1',
      synchronous_commit: 'on',
    });
    url.password = 'guessed';
    await expect(inDatabase(url.href, async () => {})).rejects.toThrow('password authentication failed');
  });

  it('belongs to one process at a time; commands may share it', async () => {
    const owner = new Probe({});
    const url = await owner.url();
    const refused = await outcome([probeFile]);
    expect(refused.code).toBe(1);
    expect(refused.err).toMatch(
      /The data folder .* is in use by process \d+\. Stop that one, or set DATA_DIR to another folder\./,
    );
    const sharing = new Probe({}, ['--attach']);
    expect(await sharing.url()).toBe(url);
    expect(await sharing.stop('SIGTERM')).toBe(0);
    expect(isAlive(serverPid())).toBe(true);
  });

  it('loses nothing that was acknowledged when the process is killed in a burst of writes, and does not outlive it', async () => {
    const probe = new Probe({});
    await probe.url();
    const pid = serverPid();
    probe.tell('write');
    await probe.says(/^200$/m);
    await probe.stop('SIGKILL');
    await untilGone(pid);
    const acknowledged = Number(probe.output.trimEnd().split('\n').at(-1));
    expect(acknowledged).toBeGreaterThanOrEqual(200);

    const next = new Probe({});
    const { rows } = await inDatabase(await next.url(), (client) =>
      client.query('select count(*)::int as count, max(n)::int as last from burst'),
    );
    // One more may have been written whose acknowledgement did not get out.
    expect(rows[0].count).toBe(rows[0].last);
    expect(rows[0].last).toBeGreaterThanOrEqual(acknowledged);
    expect(rows[0].last).toBeLessThanOrEqual(acknowledged + 1);
  });

  it('recovers when it is killed together with the process', async () => {
    const probe = new Probe({});
    await probe.url();
    process.kill(serverPid(), 'SIGKILL');
    await probe.says(/The embedded database has ended/);
    const next = new Probe({});
    await next.url();
    expect(fs.readFileSync(path.join(dataDir, 'postgres.log'), 'utf8')).toContain('automatic recovery');
  });

  it('is stopped by the next start when even what watches over it was killed', async () => {
    const probe = new Probe({});
    await probe.url();
    const orphan = serverPid();
    const keeper = parents().get(orphan)!;
    for (const [pid, parent] of parents()) if (parent === keeper && pid !== orphan) process.kill(pid, 'SIGKILL');
    process.kill(keeper, 'SIGKILL');
    await probe.stop('SIGKILL');
    expect(isAlive(orphan)).toBe(true);
    const next = new Probe({});
    await next.url();
    expect(next.output).toContain('Stopping the database that an interrupted run left behind');
    expect(isAlive(orphan)).toBe(false);
  });

  it('is not kept from starting by a number in a stale file that now belongs to another process', async () => {
    fs.writeFileSync(
      path.join(dataDir, 'running.json'),
      JSON.stringify({ pid: process.pid, identity: 'another boot/1', port: 1 }),
    );
    fs.writeFileSync(path.join(dataDir, 'postgres/postmaster.pid'), `${process.pid}\n${dataDir}/postgres\n`);
    await new Probe({}).url();
  });

  it('starts where the first start was interrupted while it made the database', async () => {
    const folder = path.join(base, 'half');
    fs.mkdirSync(path.join(folder, 'postgres.new/base'), { recursive: true });
    fs.writeFileSync(path.join(folder, 'running.json'), '');
    await new Probe({ DATA_DIR: folder }).url();
  });
});

describe('a start that cannot be', () => {
  const spoilt = (change: (folder: string) => void) => {
    const folder = path.join(base, 'spoilt');
    fs.rmSync(folder, { recursive: true, force: true });
    fs.mkdirSync(path.join(folder, 'postgres'), { recursive: true });
    fs.writeFileSync(path.join(folder, 'password'), 'x');
    change(folder);
    return outcome([probeFile], { DATA_DIR: folder });
  };

  it('names a data folder from another version, and what to do', async () => {
    const { code, err } = await spoilt((folder) => fs.writeFileSync(path.join(folder, 'postgres/PG_VERSION'), '16\n'));
    expect(code).toBe(1);
    expect(err).toMatch(
      /belongs to PostgreSQL 16; this is PostgreSQL 18, which cannot read it\. Make a backup with the program that wrote it/,
    );
    expect(err).not.toContain('    at ');
  });

  it('names a missing password, and a data folder that cannot be one', async () => {
    const version = fs.readFileSync(path.join(dataDir, 'postgres/PG_VERSION'));
    const without = await spoilt((folder) => {
      fs.writeFileSync(path.join(folder, 'postgres/PG_VERSION'), version);
      fs.rmSync(path.join(folder, 'password'));
    });
    expect(without.err).toMatch(/password is missing: the database beside it cannot be opened without it/);
    expect((await spoilt(() => {})).err).toMatch(/postgres is not a database folder/);
    fs.writeFileSync(path.join(base, 'file'), '');
    const inFile = await outcome([probeFile], { DATA_DIR: path.join(base, 'file/data') });
    expect(inFile.err).toMatch(/The data folder .* cannot be used by this user \(ENOTDIR/);
    expect(inFile.code).toBe(1);
  });

  it('names a wrong setting, with exit code 2', async () => {
    const { code, err } = await outcome([probeFile], { PORT: 'eighty' });
    expect(code).toBe(2);
    expect(err).toBe(
      'PORT="eighty" is not usable: set it to a whole number from 0 to 65535 (0 takes any free port), or leave it out.\n',
    );
  });

  it('names the commands there are', async () => {
    const { code, err } = await outcome([path.join(projectRoot, 'src/platform/launch/run.mjs'), 'dance']);
    expect(code).toBe(2);
    expect(err).toMatch(/There is no command "dance"\. Known: .*backup.*restore/);
  });
});

it('backs up while the service runs, and restores into another data folder', async () => {
  const command = path.join(projectRoot, 'src/platform/launch/run.mjs');
  const file = path.join(base, 'shop.backup');
  const probe = new Probe({});
  const insert = `insert into "Shop" (id, name, currency, "timeZone", latitude, longitude,
    "hourlyValue", "spaceCostPerDay", "haulCostPerKilometre", "openingHours", "updatedAt")
    values (gen_random_uuid(), 'Kept', 'USD', 'UTC', 0, 0, 0, 0, 0, '[]', now())`;
  await inDatabase(await probe.url(), (client) => client.query(`drop table if exists kept, burst; ${insert}`));
  const saved = await outcome([command, 'backup', file]);
  expect(saved.code).toBe(0);
  const rowsSaved = /: (\d+) rows of \d+ tables/.exec(saved.out)![1];
  const elsewhere = path.join(base, 'elsewhere');
  expect(await outcome([command, 'restore', file], { DATA_DIR: elsewhere })).toMatchObject({
    code: 0,
    out: expect.stringContaining(`Restored ${rowsSaved} rows`),
  });
  expect(await outcome([command, 'restore', file], { DATA_DIR: elsewhere })).toMatchObject({
    code: 1,
    err: expect.stringContaining('holds records already'),
  });
  const { rows } = await inDatabase(await new Probe({ DATA_DIR: elsewhere }).url(), (client) =>
    client.query('select name from "Shop"'),
  );
  expect(rows).toEqual([{ name: 'Kept' }]);
});
