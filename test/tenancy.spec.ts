/** Shops are kept apart by the database itself, on every table there is and on every one that will be added. */
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import pg from 'pg';
import { createTestDatabase, type TestDatabase } from './harness/database.js';

let opened: TestDatabase;
let owner: pg.Client;
beforeAll(async () => {
  opened = await createTestDatabase();
  owner = new pg.Client({ connectionString: opened.adminUrl });
  await owner.connect();
});
afterAll(async () => {
  await owner.end();
  await opened.close();
});

it('every table with a shop has row-level security and a policy for reading and writing', async () => {
  const { rows } = await owner.query<{ table: string; secured: boolean; policies: number }>(`
    SELECT c.relname AS table, c.relrowsecurity AS secured,
      (SELECT count(*)::int FROM pg_policies p WHERE p.tablename = c.relname AND p.qual LIKE '%current_shop()%'
        AND p.with_check LIKE '%current_shop()%') AS policies
    FROM pg_class c JOIN information_schema.columns i ON i.table_name = c.relname AND i.column_name = 'shopId'
    WHERE c.relkind = 'r' AND c.relnamespace = 'public'::regnamespace`);
  expect(rows.length).toBeGreaterThan(35);
  expect(rows.filter((row) => !row.secured || row.policies === 0)).toEqual([]);
});

it('every reference between two rows of shops carries the shop along', async () => {
  const { rows } = await owner.query<{ name: string; columns: string[] }>(`
    SELECT k.conname AS name, (SELECT array_agg(a.attname::text)
      FROM unnest(k.conkey) c JOIN pg_attribute a ON a.attrelid = k.conrelid AND a.attnum = c)
      AS columns
    FROM pg_constraint k
    WHERE k.contype = 'f' AND k.confrelid <> '"Shop"'::regclass AND k.connamespace = 'public'::regnamespace`);
  expect(rows.length).toBeGreaterThan(35);
  expect(rows.filter((row) => !row.columns.includes('shopId'))).toEqual([]);
});

it('functions that run as the owner look in the schema they belong to, and for temporary tables last', async () => {
  const { rows } = await owner.query<{ name: string; settings: string[] | null }>(
    `SELECT p.proname AS name, p.proconfig AS settings FROM pg_proc p WHERE p.prosecdef AND p.pronamespace = 'public'::regnamespace`,
  );
  expect(rows.map(({ name }) => name)).toEqual(
    expect.arrayContaining(['find_access_key', 'list_shops', 'parts_numbered']),
  );
  for (const { settings } of rows) expect(settings).toEqual(['search_path=public, pg_temp']);
});

it('the service owns nothing, passes by nothing, and cannot rewrite history', async () => {
  const { rows } = await opened.database.pool.query<{ super: boolean; bypass: boolean; owned: number }>(`
    SELECT r.rolsuper AS super, r.rolbypassrls AS bypass,
      (SELECT count(*)::int FROM pg_class WHERE relowner = r.oid) AS owned
      FROM pg_roles r WHERE r.rolname = current_user`);
  expect(rows).toEqual([{ super: false, bypass: false, owned: 0 }]);
  const { rows: kept } = await owner.query<{ table: string }>(
    `SELECT event_object_table AS table FROM information_schema.triggers WHERE trigger_name = 'kept_as_written' GROUP BY 1 ORDER BY 1`,
  );
  expect(kept.map((row) => row.table)).toEqual(
    expect.arrayContaining([
      'AuditEntry',
      'Harvest',
      'LedgerEntry',
      'PartReturn',
      'Promise',
      'Receipt',
      'SafetyCheck',
      'StockMovement',
    ]),
  );
});
