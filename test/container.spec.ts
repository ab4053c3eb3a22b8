/** The container files, as text: no test can count on Docker being there. What they promise each other must agree. */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import fs from 'node:fs';
import http from 'node:http';
import type { AddressInfo } from 'node:net';
import os from 'node:os';
import path from 'node:path';
import { describe, expect, it } from '@jest/globals';
import { parse } from 'yaml';
import { projectRoot } from '../src/platform/launch/root.js';
import { loadSettings } from '../src/platform/settings.js';
import { createEmptyDatabase } from './harness/database.js';

interface Service {
  image?: string;
  build?: { context: string; dockerfile: string };
  command?: string[];
  environment?: Record<string, string>;
  secrets?: string[];
  ports?: string[];
  volumes?: string[];
  networks: string[];
  deploy?: { replicas: number };
  depends_on?: Record<string, { condition: string }>;
  healthcheck: { test: string[] };
}

const read = (file: string) => fs.readFileSync(path.join(projectRoot, file), 'utf8');
const text = read('docker-compose.yml');
const compose = parse(text) as {
  services: Record<'database' | 'service' | 'balancer', Service>;
  secrets: Record<string, { file: string }>;
  networks: Record<string, { internal?: boolean }>;
};
const { database, service, balancer } = compose.services;
const proxy = read('src/platform/container/haproxy.cfg');
const dockerfile = read('src/platform/container/Dockerfile');

describe('docker-compose.yml', () => {
  it('has PostgreSQL 18, two replicas and a load balancer of a stock image, each started after what it needs is well', () => {
    expect(database.image).toBe('postgres:18');
    expect(service.deploy?.replicas).toBe(2);
    expect(service.depends_on).toEqual({ database: { condition: 'service_healthy' } });
    expect(balancer.image).toMatch(/^haproxy:\d/);
    expect(balancer.build).toBeUndefined();
    expect(balancer.depends_on).toEqual({ service: { condition: 'service_healthy' } });
    for (const one of Object.values(compose.services)) expect(one.healthcheck.test[0]).toBe('CMD');
  });

  it('is open to this machine alone, and only at the balancer', () => {
    expect(database.ports ?? service.ports).toBeUndefined();
    expect(balancer.ports).toHaveLength(1);
    expect(balancer.ports![0]).toMatch(/^127\.0\.0\.1:\$\{FROSTWRIGHT_PORT:-3000\}:8080$/);
    expect(database.networks).toEqual(['inside']);
    expect(service.networks).toEqual(['inside']);
    expect(compose.networks.inside).toEqual({ internal: true });
  });

  it('hands secrets over as files, to those who need them, out of a folder that git does not see', () => {
    for (const one of [database, service]) {
      const files = Object.entries(one.environment!).filter(([name]) => name.endsWith('_FILE'));
      expect(files.map(([, file]) => file)).toEqual(one.secrets!.map((name) => `/run/secrets/${name}`));
      expect(JSON.stringify(one.environment)).not.toMatch(/postgresql:|"\w*PASSWORD"/);
    }
    expect(balancer.secrets).toBeUndefined();
    for (const { file } of Object.values(compose.secrets)) expect(file).toMatch(/^\.data\//);
    expect(read('.gitignore').split('\n')).toContain('/.data/');
  });

  it('sets what the service accepts, and its instructions make a usable address of the database', () => {
    const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-container-'));
    const [, format] =
      /printf '(.*)' "\$\(cat \.data\/secrets\/database_password\)" > \.data\/secrets\/database_url/.exec(text)!;
    fs.writeFileSync(path.join(folder, 'url'), format!.replace('%s', '0123abcd'));
    const settings = loadSettings({ ...service.environment, DATABASE_URL_FILE: path.join(folder, 'url') });
    fs.rmSync(folder, { recursive: true });
    expect(settings).toMatchObject({ host: '0.0.0.0', port: 3000, trustedProxies: 1 });
    const url = new URL(settings.databaseUrl!);
    const { POSTGRES_USER, POSTGRES_DB } = database.environment!;
    expect([url.hostname, url.port, url.username, url.pathname]).toEqual([
      'database',
      '5432',
      POSTGRES_USER,
      `/${POSTGRES_DB}`,
    ]);
  });

  it('finds a replica well exactly when it says that it is ready', async () => {
    const [, program, ...args] = service.healthcheck.test;
    expect(program).toBe('node');
    let status = 200;
    const asked: string[] = [];
    const replica = http.createServer((request, response) => {
      asked.push(request.url!);
      response.writeHead(status).end();
    });
    await new Promise<void>((resolve) => replica.listen(0, '127.0.0.1', resolve));
    const { port } = replica.address() as AddressInfo;
    const check = async () =>
      (
        await once(
          spawn(
            process.execPath,
            args.map((arg) => arg.replace(`:${service.environment!.PORT}/`, `:${port}/`)),
          ),
          'exit',
        )
      )[0];
    expect(await check()).toBe(0);
    status = 503;
    expect(await check()).toBe(1);
    replica.closeAllConnections();
    await new Promise((resolve) => replica.close(resolve));
    expect(await check()).toBe(1);
    expect(asked).toEqual(['/readyz', '/readyz']);
  });
});

describe('the load balancer', () => {
  const line = (start: string) => new RegExp(`^\\s*${start} (.*)$`, 'm').exec(proxy)?.[1];

  it('listens where its port is published, and sends to where the service listens', () => {
    expect(line('bind')).toBe(balancer.ports![0]!.replace(/^.*:/, ':'));
    expect(line('server-template')).toBe(`replica 8 service:${service.environment!.PORT}`);
    expect(balancer.volumes).toEqual(['./src/platform/container/haproxy.cfg:/usr/local/etc/haproxy/haproxy.cfg:ro']);
  });

  it('leaves out replicas that are not ready, never sends a request twice, and lets nobody claim an address', () => {
    expect(line('http-check send')).toContain('uri /readyz');
    expect(line('http-check expect')).toBe('status 200');
    expect(line('default-server')).toMatch(/^check .*resolvers docker/);
    expect(line('retry-on')).toBe('conn-failure');
    expect(line('http-request set-header X-Forwarded-For')).toBe('%[src]');
  });
});

describe('the image', () => {
  it('is made of what is there, runs what is compiled, and not as root', () => {
    expect(service.build).toEqual({ context: '.', dockerfile: 'src/platform/container/Dockerfile' });
    const copied = [...dockerfile.matchAll(/^COPY (?!--from)(.+) \S+$/gm)].flatMap(([, sources]) =>
      sources!.split(' '),
    );
    expect(copied.length).toBeGreaterThan(4);
    const allowed = read('src/platform/container/Dockerfile.dockerignore').split('\n');
    expect(allowed).toContain('*');
    for (const source of copied) {
      expect(fs.existsSync(path.join(projectRoot, source))).toBe(true);
      expect(allowed).toContain(`!${source}`);
    }
    const last = dockerfile.slice(dockerfile.lastIndexOf('\nFROM'));
    expect(last).toMatch(/^USER node$/m);
    const run = JSON.parse(/^CMD (.*)$/m.exec(last)![1]!) as string[];
    expect(service.command).toEqual(run);
    expect(fs.existsSync(path.join(projectRoot, run.at(-1)!.replace('.build/', '').replace(/\.js$/, '.ts')))).toBe(
      true,
    );
  });
});

describe('inside the container', () => {
  it('the commands run without the source', async () => {
    const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-image-'));
    const { adminUrl, drop } = await createEmptyDatabase();
    try {
      // As the Dockerfile copies them.
      const copied = [...dockerfile.matchAll(/^COPY --from=build \/app\/(\S+) (\S+)$/gm)].map(([, from, to]) => ({
        from: from!,
        to: to!,
      }));
      for (const { from, to } of copied) {
        const target = path.join(folder, to === './' ? from : to);
        fs.mkdirSync(path.dirname(target), { recursive: true });
        if (from === 'node_modules') fs.symlinkSync(path.join(projectRoot, from), target);
        else fs.cpSync(path.join(projectRoot, from), target, { recursive: true });
      }
      expect(fs.existsSync(path.join(folder, 'src/commands'))).toBe(false);
      const run = async (name: string, ...args: string[]) => {
        const child = spawn(process.execPath, ['src/platform/launch/run.mjs', name, ...args], {
          cwd: folder,
          env: { PATH: process.env.PATH, DATABASE_URL: adminUrl },
        });
        let said = '';
        for (const stream of [child.stdout, child.stderr])
          stream.on('data', (part: Buffer) => (said += part.toString()));
        return { code: (await once(child, 'close'))[0] as number, said };
      };
      const shopArgs = [
        'add',
        '--name',
        'Harbour Lane',
        '--currency',
        'EUR',
        '--time-zone',
        'Europe/Oslo',
        '--latitude',
        '59.9',
        '--longitude',
        '10.7',
      ];
      expect((await run('keys')).said).toContain('There is no shop yet');
      expect(await run('shops', ...shopArgs)).toMatchObject({ code: 0 });
      expect((await run('keys', 'add', 'reader', 'Container')).said).toMatch(/fw_[0-9a-f]{12}_/);
      expect((await run('briefing')).said).toContain('Harbour Lane');
      expect((await run('backup', path.join(folder, 'copy.backup'))).said).toMatch(/rows of \d+ tables/);
      expect((await run('nothing')).said).toMatch(/Known: backup, briefing, .*keys/);
    } finally {
      await drop();
      fs.rmSync(folder, { recursive: true, force: true });
    }
  }, 120_000);
});
