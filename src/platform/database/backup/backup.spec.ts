import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { gunzipSync, gzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import pg from 'pg';
import { createEmptyDatabase, createTestDatabase, type TestDatabase } from '../../../../test/harness/database.js';
import { asAdministrator } from '../open.js';
import { writeBackup } from './backup.js';
import { checkBackup } from './file.js';
import { restoreBackup } from './restore.js';
import { tablesInOrder } from './tables.js';

const role = 'frostwright_service';
const quiet = () => {};
const madeAt = new Date('2025-10-01T12:00:00Z');

let source: TestDatabase;
let folder: string;
let file: string;
/** What COPY's text format, JSON and Prisma each find awkward. */
const awkward = 'tab\t newline\n return\r backslash \\ \\. \\N quote " \' line\u2028separator ❄️ Ünïcode';

beforeAll(async () => {
  folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-backup-'));
  file = path.join(folder, 'shop.backup');
  source = await createTestDatabase(3);
  await asAdministrator(source.adminUrl, fill);
  await writeBackup(source.adminUrl, file, madeAt);
});
afterAll(async () => {
  await source.close();
  fs.rmSync(folder, { recursive: true, force: true });
});

async function fill(client: pg.Client): Promise<void> {
  const [shop, machine, job, entry] = [randomUUID(), randomUUID(), randomUUID(), randomUUID()];
  await client.query(
    `insert into "Shop" (id, name, currency, "timeZone", latitude, longitude,
      "hourlyValue", "spaceCostPerDay", "haulCostPerKilometre", "openingHours", "updatedAt")
     values ($1, $2, 'USD', 'UTC', 44.12345, -72.5, 31.0001, 0, 0.1, '[{"weekday":1}]', now())`,
    [shop, awkward],
  );
  await client.query(
    `insert into "AccessKey" (id, "shopId", name, role, "publicId", "secretHash", ` +
      `"updatedAt") values ($1, $2, 'Owner', 'owner', 'abc', $3, now())`,
    [randomUUID(), shop, Buffer.from([0, 255, 92, 10])],
  );
  await client.query(
    `insert into "Machine" (id, "shopId", kind, maker, model, "acquisitionShare", "updatedAt") ` +
      `values ($1, $2, 'twoStageThrower', 'Norvane', 'N-8', 123456789012.3456, now())`,
    [machine, shop],
  );
  await client.query(
    `insert into "Job" (id, "shopId", "machineId", number, title, "openedDate", ` +
      `"updatedAt") values ($1, $2, $3, 1, '', '2025-05-01', now())`,
    [job, shop, machine],
  );
  await client.query(
    `insert into "LedgerEntry" (id, "shopId", "jobId", kind, amount, "occurredDate", ` +
      `description) values ($1, $2, $3, 'part', 12.3400, '2025-05-02', 'bolts')`,
    [entry, shop, job],
  );
  await client.query(
    `insert into "LedgerEntry" (id, "shopId", "jobId", kind, amount, "occurredDate", description, ` +
      `"reversesId") values ($1, $2, $3, 'part', -12.3400, '2025-05-02', 'bolts', $4)`,
    [randomUUID(), shop, job, entry],
  );
  await client.query(
    `insert into "IdempotentReply" (id, "shopId", "accessKeyId", key, operation, ` +
      `fingerprint, status, reply) values ($1, $2, $1, 'k', 'one', '', 200, 'null')`,
    [randomUUID(), shop],
  );
  // What an entry changed refers to it: it is restored after it.
  await client.query(`insert into "AuditEntry" (id, "shopId", operation) values ($1, $2, 'one')`, [entry, shop]);
  await client.query(
    `insert into "AuditChange" ("shopId", "auditEntryId", record, "recordId", field, before) values ($1, $2, 'Job', $3, 'title', '')`,
    [shop, entry, job],
  );
}

/** Every row of every table as the server writes it, so that nothing is lost in a conversion of ours. */
async function contents(adminUrl: string): Promise<Record<string, string[]>> {
  return asAdministrator(adminUrl, async (client) => {
    const all: Record<string, string[]> = {};
    for (const { table } of await tablesInOrder(client)) {
      const { rows } = await client.query(`select t::text as row from public."${table}" t order by 1`);
      if (rows.length > 0) all[table] = rows.map(({ row }) => row);
    }
    return all;
  });
}

async function inEmpty<T>(work: (adminUrl: string) => Promise<T>): Promise<T> {
  const { adminUrl, drop } = await createEmptyDatabase();
  try {
    return await work(adminUrl);
  } finally {
    await drop();
  }
}

/** The backup with its text changed, and its checksum left as it was. */
function altered(change: (text: string) => string): string {
  const other = path.join(folder, `${randomUUID()}.backup`);
  const packed = gzipSync(Buffer.from(change(gunzipSync(fs.readFileSync(file)).toString('utf8')), 'utf8'));
  fs.readFileSync(file).copy(packed, 0, 0, 10);
  fs.writeFileSync(other, packed);
  return other;
}

describe('backup and restore', () => {
  it('gives back every row exactly, in a database that was never prepared', async () => {
    await inEmpty(async (adminUrl) => {
      const { rows } = await restoreBackup(adminUrl, role, file, quiet);
      expect(rows).toMatchObject({ Shop: 1, LedgerEntry: 3, IdempotentReply: 1, AuditChange: 1 });
      const restored = await contents(adminUrl);
      expect(restored).toEqual(await contents(source.adminUrl));
      expect(restored.Shop![0]).toContain('❄️');
      await expect(asAdministrator(adminUrl, (client) => client.query('delete from "LedgerEntry"'))).rejects.toThrow(
        'never changed or removed',
      );
    });
  });

  it('carries every table there is, and the records count on no sequence', async () => {
    const { rows } = await asAdministrator(source.adminUrl, (client) =>
      client.query(`select (select count(*)::int
        from information_schema.tables where table_schema = 'public' and table_type = 'BASE TABLE'
        and table_name <> '_prisma_migrations') as tables,
                           (select count(*)::int from pg_sequences) as sequences`),
    );
    const heads = gunzipSync(fs.readFileSync(file))
      .toString('utf8')
      .match(/^\{"table":/gm)!;
    expect(heads).toHaveLength(rows[0].tables);
    expect(rows[0].sequences).toBe(0);
  });

  it('notices each of its bytes that is another, those of its head too', async () => {
    const whole = fs.readFileSync(file);
    const places = [
      ...Array(24).keys(),
      Math.floor(whole.length / 2),
      ...Array.from({ length: 8 }, (_, at) => whole.length - 1 - at),
    ];
    const other = path.join(folder, 'flipped');
    for (const at of places) {
      const flipped = Buffer.from(whole);
      flipped[at]! ^= 0x10;
      fs.writeFileSync(other, flipped);
      await expect(checkBackup(other)).rejects.toThrow('not a whole Frostwright backup');
    }
    fs.rmSync(other);
  });

  it('is for its owner alone, complete or absent, and never written over another', async () => {
    expect(fs.statSync(file).mode & 0o777).toBe(0o600);
    await expect(writeBackup(source.adminUrl, file, madeAt)).rejects.toThrow('exists already');
    await expect(writeBackup(source.adminUrl, path.join(folder, 'no/such/folder'), madeAt)).rejects.toThrow(
      /could not be written .*ENOENT/,
    );
    await inEmpty((adminUrl) =>
      expect(writeBackup(adminUrl, path.join(folder, 'nothing'), madeAt)).rejects.toThrow('nothing to back up'),
    );
    expect(fs.readdirSync(folder)).toEqual(['shop.backup']);
  });

  it('shows one moment while others write', async () => {
    const busy = await createTestDatabase(2);
    const snapshot = path.join(folder, 'busy.backup');
    await asAdministrator(busy.adminUrl, fill);
    let writing = true;
    let written = 0;
    const writer = asAdministrator(busy.adminUrl, async (client) => {
      const { rows } = await client.query('select id from "Shop"');
      while (writing) {
        // Two tables that the backup reads at different times, always changed together.
        const machine = randomUUID();
        await client.query('begin');
        await client.query(
          `insert into "Machine" (id, "shopId", kind, maker, model, "acquisitionShare", ` +
            `"updatedAt") values ($1, $2, 'other', 'Norvane', 'N', 1, now())`,
          [machine, rows[0].id],
        );
        await client.query(
          `insert into "Job" (id, "shopId", "machineId", number, title, "openedDate", ` +
            `"updatedAt") values ($1, $2, $3, $4, '', '2025-05-01', now())`,
          [randomUUID(), rows[0].id, machine, 100 + written],
        );
        await client.query('commit');
        written += 1;
      }
    });
    while (written < 20) await new Promise((resolve) => setTimeout(resolve, 5));
    const before = written;
    const { rows } = await writeBackup(busy.adminUrl, snapshot, madeAt);
    const after = written;
    writing = false;
    await writer;
    await busy.close();
    expect(after).toBeGreaterThan(before);
    expect(rows.Job).toBeGreaterThanOrEqual(before + 1);
    expect(rows.Job).toBe(rows.Machine);
  });

  it('refuses a database that holds records, unless told to give them up', async () => {
    await inEmpty(async (adminUrl) => {
      await restoreBackup(adminUrl, role, file, quiet);
      await expect(restoreBackup(adminUrl, role, file, quiet)).rejects.toThrow('holds records already');
      await asAdministrator(adminUrl, (client) => client.query(`update "Shop" set name = 'changed since'`));
      await restoreBackup(adminUrl, role, file, quiet, { replace: true });
      expect(await contents(adminUrl)).toEqual(await contents(source.adminUrl));
    });
  });

  it.each([
    [
      'cut short',
      () => {
        const cut = path.join(folder, 'cut.backup');
        fs.writeFileSync(cut, fs.readFileSync(file).subarray(0, -40));
        return cut;
      },
    ],
    ['with a changed amount', () => altered((text) => text.replace('12.3400', '12.3500'))],
    ['with a row left out', () => altered((text) => text.replace(/^.*bolts.*\n/m, ''))],
    ['without its end', () => altered((text) => text.replace(/^\{"rows".*\n/m, ''))],
    ['with something after its end', () => altered((text) => `${text}{}\n`)],
    ['that is no backup', () => altered(() => 'hello\n')],
    [
      'that is no gzip file',
      () => {
        const plain = path.join(folder, 'plain.backup');
        fs.writeFileSync(plain, 'hello');
        return plain;
      },
    ],
  ])('refuses a file %s', async (_what, make) => {
    await inEmpty(async (adminUrl) => {
      await expect(restoreBackup(adminUrl, role, make(), quiet)).rejects.toThrow('is not a whole Frostwright backup');
    });
  });

  it('refuses a backup of a newer version, and names a missing file', async () => {
    await inEmpty(async (adminUrl) => {
      const { createHash } = await import('node:crypto');
      const newer = altered((text) => {
        const changed = text.replace('"migrations":[', '"migrations":["9999_later",');
        const body = changed.slice(0, changed.lastIndexOf('{"rows"'));
        return (
          body +
          changed
            .slice(body.length)
            .replace(/"sha256":"\w+"/, `"sha256":"${createHash('sha256').update(body).digest('hex')}"`)
        );
      });
      await expect(restoreBackup(adminUrl, role, newer, quiet)).rejects.toThrow(
        'newer version of Frostwright (9999_later)',
      );
      await expect(restoreBackup(adminUrl, role, path.join(folder, 'none'), quiet)).rejects.toThrow(
        'cannot be read (ENOENT)',
      );
    });
  });

  it('leaves the database as it was when a row does not fit', async () => {
    const { createHash } = await import('node:crypto');
    // Whole by its checksum, yet against a rule of the tables: a machine of a shop that does not exist.
    const misfit = altered((text) => {
      const shopless = text.replace(/^(\{"table":"Shop"[^\n]*\n)[^\n]*\n/m, '$1').replace(/"Shop":1/, '"Shop":0');
      const body = shopless.slice(0, shopless.lastIndexOf('{"rows"'));
      return (
        body +
        shopless
          .slice(body.length)
          .replace(/"sha256":"\w+"/, `"sha256":"${createHash('sha256').update(body).digest('hex')}"`)
      );
    });
    await inEmpty(async (adminUrl) => {
      await restoreBackup(adminUrl, role, file, quiet);
      await expect(restoreBackup(adminUrl, role, misfit, quiet, { replace: true })).rejects.toThrow(
        'violates foreign key constraint',
      );
      expect(await contents(adminUrl)).toEqual(await contents(source.adminUrl));
    });
  });
});
