import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { createTestDatabase, type TestDatabase } from '../../../test/harness/database.js';

let db: TestDatabase;
beforeAll(async () => {
  db = await createTestDatabase(4);
});
afterAll(() => db.close());

const shopId = '0190a000-0000-7000-8000-000000000001';

describe('Database', () => {
  it('works as a role that row-level security binds and that owns nothing', async () => {
    const { rows } = await db.database.pool.query(`
      select rolname, rolsuper, rolbypassrls, rolcreatedb, rolcreaterole,
             (select count(*)::int from pg_class where relowner = pg_roles.oid) as owned
      from pg_roles where rolname = current_user`);
    expect(rows).toEqual([
      {
        rolname: 'frostwright_service',
        rolsuper: false,
        rolbypassrls: false,
        rolcreatedb: false,
        rolcreaterole: false,
        owned: 0,
      },
    ]);
    await expect(db.database.pool.query('create table mine (id int)')).rejects.toThrow('permission denied');
    await expect(db.database.pool.query('select * from "_prisma_migrations"')).rejects.toThrow('permission denied');
    await expect(db.database.pool.query('alter table "Shop" disable row level security')).rejects.toThrow(
      'must be owner',
    );
  });

  it('sets the shop for one transaction only', async () => {
    const inside = await db.database.withShop(
      shopId,
      (tx) => tx.$queryRaw<{ shop: string }[]>`select current_setting('app.shop_id') as shop`,
    );
    expect(inside).toEqual([{ shop: shopId }]);
    for (let connection = 0; connection < 4; connection += 1) {
      const { rows } = await db.database.pool.query(
        `select coalesce(current_setting('app.shop_id', true), '') as shop`,
      );
      expect(rows).toEqual([{ shop: '' }]);
    }
  });

  it('counts statements of Prisma and of raw SQL alike, leaving the brackets out', async () => {
    const { statements } = await db.database.countStatements(() =>
      db.database.withShop(shopId, async (tx) => {
        await tx.machine.findMany();
        await tx.$queryRaw`select 1 as one`;
      }),
    );
    expect(statements).toHaveLength(2);
    expect(statements[0]).toContain('"Machine"');
    expect(statements[1]).toBe('select 1 as one');
  });

  it('runs work again after a serialisation clash when told that it may, and not otherwise', async () => {
    const { database } = db;
    await using counter = await counterTable();
    const addOne = async (retry: boolean) => {
      let runs = 0;
      await database.withoutShop(
        async (tx) => {
          runs += 1;
          await tx.$queryRawUnsafe(`select amount from ${counter.name}`);
          // Somebody else changes the row between this transaction's reading and writing, the first time round.
          if (runs === 1) await database.pool.query(`update ${counter.name} set amount = amount + 1`);
          await tx.$executeRawUnsafe(`update ${counter.name} set amount = amount + 1`);
        },
        { retry, isolation: 'RepeatableRead' },
      );
      return runs;
    };
    await expect(addOne(false)).rejects.toThrow();
    expect(await counter.amount()).toBe(1);
    expect(await addOne(true)).toBe(2);
    expect(await counter.amount()).toBe(3);
  });

  it('does not repeat work that failed for another reason', async () => {
    let runs = 0;
    const failing = db.database.withoutShop(
      async () => {
        runs += 1;
        throw new Error('no');
      },
      { retry: true },
    );
    await expect(failing).rejects.toThrow('no');
    expect(runs).toBe(1);
  });
});

async function counterTable() {
  const { Client } = await import('pg').then((module) => module.default);
  const owner = new Client({ connectionString: db.adminUrl });
  await owner.connect();
  await owner.query(
    'create table counter (amount int); insert into counter values (0); grant select, update on counter to frostwright_service',
  );
  return {
    name: 'counter',
    amount: async () => (await owner.query('select amount from counter')).rows[0].amount as number,
    async [Symbol.asyncDispose]() {
      await owner.query('drop table counter');
      await owner.end();
    },
  };
}
