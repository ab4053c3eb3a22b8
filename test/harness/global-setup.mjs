/**
 * Runs once before all tests. It only opens a door: the first test file that asks for a database makes it start
 * an embedded PostgreSQL in a temporary folder (or use TEST_DATABASE_URL) and migrate a template, which every
 * file then clones. Runs that need no database do not pay for one.
 */
import fs from 'node:fs';
import http from 'node:http';
import os from 'node:os';
import path from 'node:path';
import { prepare, root } from '../../src/platform/launch/prepare.mjs';

const role = 'frostwright_service';

export default async function setup() {
  let started;
  const door = http.createServer(async (_request, response) => {
    // A test file asks once; a connection kept for it could be closed just as the next one takes it up.
    response.setHeader('Connection', 'close');
    try {
      const { adminUrl, template } = await (started ??= startServer());
      response.end(JSON.stringify({ adminUrl, template, role }));
    } catch (error) {
      response.writeHead(500).end(String(error.stack ?? error));
    }
  });
  await new Promise((resolve) => door.listen(0, '127.0.0.1', resolve));
  process.env.FROSTWRIGHT_TEST_SERVER = `http://127.0.0.1:${door.address().port}`;
  globalThis.frostwrightTestServer = {
    async close() {
      await new Promise((resolve) => door.close(resolve));
      await (await started?.catch(() => undefined))?.stop();
    },
  };
}

async function startServer() {
  await prepare();
  const compiled = (file) => import(path.join(root, '.build/src/platform/database', file));
  const { startEmbedded } = await compiled('embedded/embedded.js');
  const { asAdministrator, prepareDatabase } = await compiled('open.js');
  const say = (line) => process.stderr.write(`· ${line}\n`);

  const external = process.env.TEST_DATABASE_URL;
  const folder = external ? undefined : fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-test-'));
  const server = external
    ? { url: external, stop: async () => {} }
    : await startEmbedded(folder, () => {}, { durable: false });
  const template = `frostwright_template_${process.pid}`;
  await asAdministrator(server.url, (client) => client.query(`create database ${template}`));
  const url = new URL(server.url);
  url.pathname = template;
  await prepareDatabase(url.href, role, external ? say : () => {});
  return {
    adminUrl: server.url,
    template,
    async stop() {
      if (external)
        await asAdministrator(server.url, (client) => client.query(`drop database ${template} with (force)`));
      await server.stop();
      if (folder) fs.rmSync(folder, { recursive: true, force: true });
    },
  };
}
