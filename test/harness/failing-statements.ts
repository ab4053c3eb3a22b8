/** Makes the k-th statement of a work fail at the server, and sees whether anything of the work is left. */
import type pg from 'pg';
import type { Database } from '../../src/platform/database/database.js';

/** Brackets and the choice of the shop: no part of the work. */
const isBracket = (sql: string) => /^\s*(begin|commit|rollback|set |savepoint|release|select set_config\()/i.test(sql);
/** A fault of ours, as far as the database is concerned: there is no such function. */
const failing = 'select frostwright_injected_fault()';

export class FailingStatements {
  /** Statements until the one that fails; 0 is the next, undefined none. */
  private left: number | undefined;
  private seen = 0;

  /** @param database one that has no connection yet */
  constructor(database: Database) {
    // Its own observation is set up first, so that it sees what is sent in the end.
    database.pool.on('connect', (client) => this.wrap(client));
  }

  /** Runs a work and counts its statements. */
  async count<T>(work: () => Promise<T>): Promise<{ result: T; statements: number }> {
    this.left = undefined;
    this.seen = 0;
    const result = await work();
    return { result, statements: this.seen };
  }

  /** @returns what the work threw; undefined where it ended well, having sent fewer statements than that or taken the fault in its stride */
  async failAt(index: number, work: () => Promise<unknown>): Promise<unknown> {
    this.left = index;
    this.seen = 0;
    try {
      await work();
      return undefined;
    } catch (error) {
      return error;
    } finally {
      this.left = undefined;
    }
  }

  private wrap(client: pg.PoolClient): void {
    const send = client.query.bind(client) as (...args: unknown[]) => unknown;
    client.query = ((first: string | { text: string }, ...rest: unknown[]) => {
      const sql = typeof first === 'string' ? first : first.text;
      if (isBracket(sql)) return send(first, ...rest);
      this.seen += 1;
      if (this.left === undefined || this.left-- !== 0) return send(first, ...rest);
      return send(typeof first === 'string' ? failing : { ...first, text: failing, values: [], name: undefined });
    }) as typeof client.query;
  }
}

/** A digest of each table's rows, as the owner of the tables sees them. */
export async function contentsOf(owner: pg.Pool): Promise<Record<string, string>> {
  const { rows: tables } = await owner.query<{ name: string }>(
    `select relname as name from pg_class where relnamespace = 'public'::regnamespace and relkind = 'r' order by relname`,
  );
  const sql = tables
    .map(
      ({ name }) =>
        `select '${name}' as name, coalesce(md5(string_agg(t::text, '|' order by t::text)), 'none') as digest from "${name}" t`,
    )
    .join(' union all ');
  const { rows } = await owner.query<{ name: string; digest: string }>(sql);
  return Object.fromEntries(rows.map(({ name, digest }) => [name, digest]));
}

/** Transactions that somebody began and nobody ended, and connections that are still out. */
export async function leftOpen(
  database: Database,
  owner: pg.Pool,
): Promise<{ transactions: number; connections: number }> {
  const { rows } = await owner.query<{ count: number }>(
    `select count(*)::int as count from pg_stat_activity where datname = current_database() and state like 'idle in transaction%'`,
  );
  return { transactions: rows[0]!.count, connections: database.pool.totalCount - database.pool.idleCount };
}
