/** A real PostgreSQL database of its own for a test file: a clone of the migrated template, made in a moment. */
import { randomBytes } from 'node:crypto';
import pg from 'pg';
import { Database } from '../../src/platform/database/database.js';
import { serviceUrl } from '../../src/platform/database/service-role.js';

export interface TestDatabase {
  /** Connected as the service's role, as in earnest. */
  database: Database;
  /** As the owner of the tables, whom row-level security does not bind. */
  adminUrl: string;
  /** As the service's role. */
  url: string;
  /** Closes the connections and drops the database. */
  close(): Promise<void>;
}

/** @param connections kept by `database` at most */
export async function createTestDatabase(connections = 10): Promise<TestDatabase> {
  const { adminUrl: serverUrl, template, role } = await testServer();
  const name = `frostwright_test_${randomBytes(6).toString('hex')}`;
  await asAdministrator(serverUrl, `create database ${name} template ${template}`);
  const url = new URL(serverUrl);
  url.pathname = name;
  const asService = serviceUrl(url.href, role);
  const database = new Database(asService, connections);
  return {
    database,
    adminUrl: url.href,
    url: asService,
    async close() {
      await database.close();
      await asAdministrator(serverUrl, `drop database ${name} with (force)`);
    },
  };
}

/** An empty database, not even migrated, on the same server. */
export async function createEmptyDatabase(): Promise<{ adminUrl: string; drop(): Promise<void> }> {
  const { adminUrl: serverUrl } = await testServer();
  const name = `frostwright_empty_${randomBytes(6).toString('hex')}`;
  await asAdministrator(serverUrl, `create database ${name}`);
  const url = new URL(serverUrl);
  url.pathname = name;
  return { adminUrl: url.href, drop: () => asAdministrator(serverUrl, `drop database ${name} with (force)`) };
}

async function testServer(): Promise<{ adminUrl: string; template: string; role: string }> {
  const door = process.env.FROSTWRIGHT_TEST_SERVER;
  if (!door)
    throw new Error('The test database is started by test/harness/global-setup.mjs, which the Jest settings name.');
  const response = await fetch(door);
  const text = await response.text();
  if (!response.ok) throw new Error(`The test database did not start: ${text}`);
  return JSON.parse(text);
}

async function asAdministrator(serverUrl: string, sql: string): Promise<void> {
  const client = new pg.Client({ connectionString: serverUrl });
  await client.connect();
  try {
    await client.query(sql);
  } finally {
    await client.end();
  }
}
