/**
 * Each statement of a command fails once. A request that a test makes is first made again and again with its first, its
 * second, its third statement failing at the server, until none is left to fail: that one is the test's own. After each
 * failure nothing may be written, nothing left open, and the caller must be told.
 */
import fs from 'node:fs';
import path from 'node:path';
import pg from 'pg';
import type request from 'supertest';
import { areas } from '../../src/app.module.js';
import type { Database } from '../../src/platform/database/database.js';

/** Brackets and the choice of the shop: no part of the work. */
const isBracket = (sql: string) => /^\s*(begin|commit|rollback|set |savepoint|release|select set_config\()/i.test(sql);
/** A fault of ours, as far as the database is concerned: there is no such function. */
const failing = 'select frostwright_injected_fault()';
const ATTEMPTS_MOST = 3;

/** The test library checks what was expected of a reply by itself; its types do not say so. */
interface Asserting {
  assert(error: null, response: request.Response, done: (error: unknown, checked: request.Response) => void): void;
}

export interface Drilled {
  operation: string;
  /** Each failed once, before the command went through. */
  statements: number;
}

const commands = areas
  .flatMap((area) => area.operations)
  .filter((one) => one.kind === 'command')
  .map((one) => ({
    name: one.name,
    method: one.rest.method.toLowerCase(),
    pattern: new RegExp(`^(?:/v1)?${one.rest.path.replace(/:\w+/g, '[0-9a-f-]{36}')}(?:\\?.*)?$`),
  }));

export class FailingStatements {
  /** Statements until the one that fails; undefined while none does. */
  private left: number | undefined;
  private hit = false;
  private running = 0;
  private readonly owner: pg.Pool;
  private readonly tries = new Map<string, number>();

  /**
   * @param database one that has no connection yet
   * @param folder where it is written down which commands have been through it, for all test files together
   */
  constructor(
    private readonly database: Database,
    adminUrl: string,
    private readonly folder: string,
  ) {
    database.pool.on('connect', (client) => this.wrap(client));
    this.owner = new pg.Pool({ connectionString: adminUrl, max: 1 });
  }

  /** What is logged meanwhile is wanted. */
  get armed(): boolean {
    return this.left !== undefined;
  }

  /** @param make the same request each time, with its keys */
  around(method: string, where: string, make: () => request.Test): request.Test {
    const made = make();
    const command = commands.find((one) => one.method === method && one.pattern.test(where));
    if (!command) return made;
    const send = made.then.bind(made) as typeof made.then;
    made.then = ((resolve, reject) => {
      const again = this.isDue(command.name) ? this.through(command.name, make) : undefined;
      if (!again) {
        this.running += 1;
        return send()
          .finally(() => (this.running -= 1))
          .then(resolve, reject);
      }
      return again
        .then(
          (response) =>
            new Promise<request.Response>((accept, refuse) =>
              (made as unknown as Asserting).assert(null, response, (error: unknown, checked: request.Response) =>
                error ? refuse(error as Error) : accept(checked),
              ),
            ),
        )
        .then(resolve, reject);
    }) as typeof made.then;
    return made;
  }

  close(): Promise<void> {
    return this.owner.end();
  }

  private isDue(name: string): boolean {
    const tried = this.tries.get(name) ?? 0;
    // With others on their way, nobody could tell whose statement failed.
    if (this.running > 0 || tried >= ATTEMPTS_MOST || fs.existsSync(this.fileOf(name))) return false;
    this.tries.set(name, tried + 1);
    return true;
  }

  private async through(name: string, make: () => request.Test): Promise<request.Response> {
    this.running += 1;
    try {
      for (let at = 0; ; at += 1) {
        const before = await contentsOf(this.owner);
        this.left = at;
        this.hit = false;
        const response = await Promise.resolve(make()).finally(() => (this.left = undefined));
        if (!this.hit) {
          // What is refused for the test's own reasons has not been through all of its statements.
          if (response.ok)
            fs.writeFileSync(this.fileOf(name), JSON.stringify({ operation: name, statements: at } satisfies Drilled));
          return response;
        }
        await this.judge(`${name}, statement ${at + 1}`, response, before);
      }
    } finally {
      this.running -= 1;
    }
  }

  private async judge(what: string, response: request.Response, before: Record<string, string>): Promise<void> {
    const { type, detail } = response.body as { type?: string; detail?: string };
    if (response.status !== 500 || !type?.endsWith(':fault') || !detail?.includes('nothing was changed'))
      throw new Error(`${what} failed, and the caller was told ${response.status} ${response.text}`);
    const after = await contentsOf(this.owner);
    const written = Object.keys(after).filter((table) => after[table] !== before[table]);
    if (written.length > 0) throw new Error(`${what} failed, yet something was written to ${written.join(', ')}`);
    for (let k = 0; ; k += 1) {
      const open = await leftOpen(this.database, this.owner);
      if (open.transactions + open.connections === 0) return;
      if (k === 20) throw new Error(`${what} failed, and left open ${JSON.stringify(open)}`);
      await new Promise((resolve) => setTimeout(resolve, 25));
    }
  }

  private fileOf(name: string): string {
    return path.join(this.folder, `${name}.json`);
  }

  private wrap(client: pg.PoolClient): void {
    const send = client.query.bind(client) as (...args: unknown[]) => unknown;
    client.query = ((first: string | { text: string }, ...rest: unknown[]) => {
      const sql = typeof first === 'string' ? first : first.text;
      if (this.left === undefined || isBracket(sql) || this.left-- !== 0) return send(first, ...rest);
      this.hit = true;
      // Whoever asked with a function is answered by it.
      const asked = rest.filter((one) => typeof one === 'function');
      return send(
        typeof first === 'string' ? failing : { ...first, text: failing, values: [], name: undefined },
        ...asked,
      );
    }) as typeof client.query;
  }
}

/** A digest of each table's rows, as the owner of the tables sees them. */
async function contentsOf(owner: pg.Pool): Promise<Record<string, string>> {
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
async function leftOpen(database: Database, owner: pg.Pool): Promise<{ transactions: number; connections: number }> {
  const { rows } = await owner.query<{ count: number }>(
    `select count(*)::int as count from pg_stat_activity where datname = current_database() and state like 'idle in transaction%'`,
  );
  return { transactions: rows[0]!.count, connections: database.pool.totalCount - database.pool.idleCount };
}
