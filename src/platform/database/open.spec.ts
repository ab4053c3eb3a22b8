import { type AddressInfo, createServer } from 'node:net';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { appliedMigrations, differenceToSchema, knownMigrations } from '../../../prisma/migrate.js';
import { createEmptyDatabase } from '../../../test/harness/database.js';
import { loadSettings } from '../settings.js';
import { asAdministrator, asOwner, openDatabase, prepareDatabase } from './open.js';
import { serviceUrl, verifyServiceRole } from './service-role.js';

const quiet = () => {};
const role = 'frostwright_service';
let empty: Awaited<ReturnType<typeof createEmptyDatabase>>;
beforeEach(async () => {
  empty = await createEmptyDatabase();
});
afterEach(() => empty.drop());

const applied = () => asAdministrator(empty.adminUrl, appliedMigrations);
const sql = (text: string) => asAdministrator(empty.adminUrl, (client) => client.query(text));

describe('preparing a database', () => {
  it('leads to the very schema that Prisma works with', async () => {
    await prepareDatabase(empty.adminUrl, role, quiet);
    expect(await applied()).toEqual(knownMigrations());
    expect(await asOwner(empty.adminUrl, quiet, differenceToSchema)).toBe('');
    await sql('alter table "Shop" drop column name');
    expect(await asOwner(empty.adminUrl, quiet, differenceToSchema)).toContain('ADD COLUMN     "name"');
  });

  it('is done once by however many start at the same time', async () => {
    const said: string[] = [];
    await Promise.all([1, 2, 3].map(() => prepareDatabase(empty.adminUrl, role, (line) => said.push(line))));
    expect(said.filter((line) => line.startsWith('Preparing'))).toHaveLength(1);
    const { rows } = await sql('select migration_name from "_prisma_migrations" order by started_at');
    expect(rows.map((row) => row.migration_name)).toEqual(knownMigrations());
  });

  it('leaves nothing behind when it fails, and works once the cause is gone', async () => {
    // The first migration goes through, the second meets a function of the same name.
    await sql(`create function current_shop() returns uuid language sql as 'select null::uuid'`);
    await expect(prepareDatabase(empty.adminUrl, role, quiet)).rejects.toThrow(
      /The migration 0002_rules failed: function .* already exists/,
    );
    expect((await sql(`select relname from pg_class where relnamespace = 'public'::regnamespace`)).rows).toEqual([]);
    await sql('drop function current_shop()');
    await prepareDatabase(empty.adminUrl, role, quiet);
    expect(await applied()).toEqual(knownMigrations());
  });

  it('keeps out of a database that is used for something else', async () => {
    await sql('create table ledger (id int)');
    await expect(prepareDatabase(empty.adminUrl, role, quiet)).rejects.toThrow(
      "holds tables that are not Frostwright's (ledger)",
    );
  });

  it('refuses a database that a newer version has changed', async () => {
    await prepareDatabase(empty.adminUrl, role, quiet);
    await sql(
      `insert into "_prisma_migrations" (id, checksum, migration_name, finished_at) values ('x', 'x', '9999_later', now())`,
    );
    await expect(prepareDatabase(empty.adminUrl, role, quiet)).rejects.toThrow('does not know (9999_later)');
  });
});

describe("the service's role", () => {
  it('is refused when it is a superuser, owns tables, or belongs to who owns them', async () => {
    await prepareDatabase(empty.adminUrl, role, quiet);
    await verifyServiceRole(serviceUrl(empty.adminUrl, role));
    await expect(verifyServiceRole(empty.adminUrl)).rejects.toThrow('passes by row-level security');
    await sql(
      `create role fw_keeper; grant create on schema public to fw_keeper; alter ` +
        `table "Shop" owner to fw_keeper; grant fw_keeper to ${role}`,
    );
    try {
      await expect(verifyServiceRole(serviceUrl(empty.adminUrl, role))).rejects.toThrow('owns tables');
    } finally {
      await sql('drop owned by fw_keeper cascade; drop role fw_keeper');
    }
  });

  it("sees one shop's rows, and none without a shop", async () => {
    await prepareDatabase(empty.adminUrl, role, quiet);
    const columns =
      '(id, name, currency, "timeZone", latitude, longitude, "hourlyValue", ' +
      '"spaceCostPerDay", "haulCostPerKilometre", "openingHours", "updatedAt")';
    const shops = ['0190a000-0000-7000-8000-000000000001', '0190a000-0000-7000-8000-000000000002'];
    for (const id of shops)
      await sql(`insert into "Shop" ${columns} values ('${id}', 'Shop', 'USD', 'UTC', 0, 0, 0, 0, 0, '[]', now())`);
    await asAdministrator(serviceUrl(empty.adminUrl, role), async (client) => {
      expect((await client.query('select id from "Shop"')).rows).toEqual([]);
      await client.query(`select set_config('app.shop_id', '${shops[1]}', false)`);
      expect((await client.query('select id from "Shop"')).rows).toEqual([{ id: shops[1] }]);
      const other =
        `insert into "Person" (id, "shopId", name, "weeklyHours", "updatedAt") ` +
        `values (gen_random_uuid(), '${shops[0]}', 'Ada', '[]', now())`;
      await expect(client.query(other)).rejects.toThrow('row-level security');
    });
  });

  it('is set up by an owner who is no superuser, and its password mended when it no longer fits', async () => {
    const url = new URL(empty.adminUrl);
    const database = url.pathname.slice(1);
    await sql(
      `create role fw_owner login createrole password 'pass word/1'; alter database "${database}" owner to fw_owner`,
    );
    url.username = 'fw_owner';
    url.password = encodeURIComponent('pass word/1');
    const settings = loadSettings({ DATABASE_URL: url.href, DATABASE_ROLE: 'fw_worker' });
    try {
      const open = await openDatabase(settings, quiet);
      expect((await open.database.pool.query('select current_user')).rows).toEqual([{ current_user: 'fw_worker' }]);
      await open.close();
      await sql(`alter role fw_worker password 'another'`);
      const again = await openDatabase(settings, quiet);
      await again.close();
      await expect(openDatabase({ ...settings, databaseRole: 'fw_owner' }, quiet)).rejects.toThrow(
        'must not be the user in DATABASE_URL',
      );
    } finally {
      await sql('drop owned by fw_worker, fw_owner cascade; drop role fw_worker');
      await sql(`alter database "${database}" owner to current_user`);
      await sql('drop role fw_owner');
    }
  });
});

describe('a database that cannot be used is refused in words', () => {
  const opening = (change: (url: URL) => void) => {
    const url = new URL(empty.adminUrl);
    change(url);
    return openDatabase(loadSettings({ DATABASE_URL: url.href }), quiet);
  };
  it('unreachable', () =>
    expect(opening((url) => (url.port = '1'))).rejects.toThrow(
      /It cannot be reached .*ECONNREFUSED.* Check DATABASE_URL/,
    ));
  it('wrong password', () =>
    expect(opening((url) => (url.password = 'wrong'))).rejects.toThrow(
      'The user or the password in DATABASE_URL is not accepted',
    ));
  it('no such database', () =>
    expect(opening((url) => (url.pathname = '/nowhere'))).rejects.toThrow(
      'There is no database nowhere; create it first',
    ));

  describe('too old', () => {
    // No server that old can be had from the package registry: this one speaks just enough of the protocol
    // (PostgreSQL documentation, "Frontend/Backend Protocol") to be asked for its version.
    const message = (type: string, body: Buffer) => {
      const head = Buffer.alloc(5);
      head.write(type);
      head.writeInt32BE(body.length + 4, 1);
      return Buffer.concat([head, body]);
    };
    const ready = message('Z', Buffer.from('I'));
    const column = Buffer.concat([
      Buffer.from([0, 1]),
      Buffer.from('server_version_num\0'),
      Buffer.alloc(6),
      Buffer.from([0, 0, 0, 25, 255, 255, 255, 255, 255, 255, 0, 0]),
    ]);
    const value = Buffer.from('140012');
    const row = Buffer.concat([Buffer.from([0, 1, 0, 0, 0, value.length]), value]);
    const answer = Buffer.concat([message('T', column), message('D', row), message('C', Buffer.from('SHOW\0')), ready]);
    const old = createServer((socket) => {
      let started = false;
      socket.on('error', quiet);
      socket.on('data', (data) => {
        if (!started) socket.write(Buffer.concat([message('R', Buffer.alloc(4)), ready]));
        else if (data[0] === 'Q'.charCodeAt(0)) socket.write(answer);
        started = true;
      });
    });
    beforeAll(() => new Promise<void>((resolve) => old.listen(0, '127.0.0.1', resolve)));
    afterAll(() => new Promise<void>((resolve) => void old.close(() => resolve())));
    it('is told its version', async () => {
      const { port } = old.address() as AddressInfo;
      await expect(
        openDatabase(loadSettings({ DATABASE_URL: `postgresql://a:b@127.0.0.1:${port}/shop` }), quiet),
      ).rejects.toThrow('is PostgreSQL 14; Frostwright needs 15 or newer');
    });
  });
});
