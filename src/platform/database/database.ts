/** How the service reaches its records: always in a transaction, and nearly always in the name of one shop. */
import { setTimeout as sleep } from 'node:timers/promises';
import { PrismaPg } from '@prisma/adapter-pg';
import pg from 'pg';
import { Prisma, PrismaClient } from './client/client.js';
import { CommitUnacknowledged, isConnectionLost } from './connection-lost.js';
import { breakOff, Heartbeat } from './heartbeat.js';
import { Turns } from './turns.js';

/** What operations are handed: Prisma's client inside an open transaction. Raw SQL goes through the same one. */
export type Transaction = Prisma.TransactionClient;

export interface TransactionOptions {
  /** Run again when the database gave it up for a deadlock or a clash; only for work without outside effects. */
  retry?: boolean;
  isolation?: 'ReadCommitted' | 'RepeatableRead' | 'Serializable';
  /** The database itself refuses to write. */
  readOnly?: boolean;
  /** The moment that the database's own bookings are dated by; else that of its clock. */
  now?: Date;
  /** The transaction is given up after this long. */
  timeoutMilliseconds?: number;
}

export interface Statement {
  sql: string;
  /** From sending to the whole answer; queueing for a connection is not in it. */
  milliseconds: number;
  failed: boolean;
}

const attempts = 5;
const statementTimeoutMilliseconds = 30_000;
/** For a free connection or a new one; a database that does not answer is found out sooner. */
const connectMilliseconds = 10_000;

export class Database {
  readonly pool: pg.Pool;
  readonly prisma: PrismaClient;
  /** Runs work that holds its connection for seconds: only so many at once that others find one free. */
  readonly slowTurns: Turns;
  /** Connections, so that no one key has them all. */
  readonly turns: Turns;
  private readonly listeners = new Set<(statement: Statement) => void>();

  private readonly clients = new Set<pg.Client>();
  private heartbeat: Heartbeat | undefined;
  /** It refused to write for want of room, and has not written since. */
  storageFull = false;

  /** @param url as the service's own role */
  constructor(
    private readonly url: string,
    connections = 10,
  ) {
    const { clients } = this;
    /** Known from its first attempt to connect, so that this can be broken off too. */
    class KnownClient extends pg.Client {
      constructor(config?: pg.ClientConfig) {
        super(config);
        clients.add(this);
        this.once('end', () => clients.delete(this));
      }
    }
    this.pool = new pg.Pool({
      Client: KnownClient,
      connectionString: url,
      max: connections,
      application_name: 'frostwright',
      connectionTimeoutMillis: connectMilliseconds,
      idleTimeoutMillis: 60_000,
      statement_timeout: statementTimeoutMilliseconds,
      idle_in_transaction_session_timeout: 60_000,
    });
    this.pool.on('connect', (client) => this.observe(client));
    // A connection that breaks while idle is dropped by the pool; whoever asks next gets a new one.
    this.pool.on('error', () => {});
    this.prisma = new PrismaClient({ adapter: new PrismaPg(this.pool) });
    const slowPlaces = Math.max(1, Math.floor(connections / 2));
    this.slowTurns = new Turns({
      places: slowPlaces,
      share: Math.max(1, Math.floor(slowPlaces / 2)),
      waiting: 20,
      patienceMilliseconds: 60_000,
    });
    this.turns = new Turns({
      // One is left for finding out whose a key is.
      places: Math.max(2, connections - 1),
      share: Math.max(1, Math.ceil(connections * 0.6)),
      waiting: 1000,
      patienceMilliseconds: 10_000,
    });
  }

  /**
   * Runs `work` in a transaction that sees and writes the rows of one shop only; the database sees to that.
   * Whatever it throws rolls the transaction back.
   */
  withShop<T>(shopId: string, work: (tx: Transaction) => Promise<T>, options?: TransactionOptions): Promise<T> {
    return this.transact(async (tx) => {
      // One statement for all: every call begins with it.
      if (options?.readOnly)
        await tx.$queryRaw`select set_config('app.shop_id', ${shopId}, true), set_config('transaction_read_only', 'on', true)`;
      else {
        const now = options?.now?.toISOString() ?? '';
        await tx.$queryRaw`select set_config('app.shop_id', ${shopId}, true), set_config('app.now', ${now}, true)`;
      }
      return work(tx);
    }, options);
  }

  /** Runs `work` in a transaction in nobody's name: to find out whose a key is, or to open a shop. */
  withoutShop<T>(work: (tx: Transaction) => Promise<T>, options?: TransactionOptions): Promise<T> {
    return this.transact(work, options);
  }

  /**
   * Asks from now on whether the database answers. When it does not, its connections are broken off, so that whoever waits
   * for one is told at once.
   */
  watch(): void {
    this.heartbeat ??= new Heartbeat(this.url, () => {
      for (const client of this.clients) breakOff(client);
    });
  }

  /** Since when it does not answer; undefined while it does, and while nobody watches. */
  get awaySince(): Date | undefined {
    return this.heartbeat?.awaySince;
  }

  /** Tells of every statement sent from now on. @returns ends it */
  onStatement(listener: (statement: Statement) => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  /** The statements sent while `work` runs, by whomever: transaction brackets and the choice of shop are left out. */
  async countStatements<T>(work: () => Promise<T>): Promise<{ result: T; statements: string[] }> {
    const statements: string[] = [];
    const stop = this.onStatement(({ sql }) => {
      if (!/^(begin|commit|rollback|set transaction|select set_config\()/i.test(sql)) statements.push(sql);
    });
    try {
      return { result: await work(), statements };
    } finally {
      stop();
    }
  }

  async close(): Promise<void> {
    await this.heartbeat?.stop();
    await this.prisma.$disconnect();
    await this.pool.end();
  }

  private async transact<T>(work: (tx: Transaction) => Promise<T>, options: TransactionOptions = {}): Promise<T> {
    for (let attempt = 1; ; attempt += 1) {
      let worked = false;
      try {
        return await this.prisma.$transaction(
          async (tx) => {
            const result = await work(tx);
            worked = true;
            return result;
          },
          {
            maxWait: 10_000,
            timeout: options.timeoutMilliseconds ?? 60_000,
            isolationLevel: options.isolation,
          },
        );
      } catch (error) {
        if (worked && isConnectionLost(error)) throw new CommitUnacknowledged(error);
        if (!options.retry || attempt === attempts || !isClash(error)) throw error;
        // Two that clashed once should not meet again.
        await sleep(2 ** attempt * 5 * (0.5 + Math.random()));
      }
    }
  }

  private observe(client: pg.PoolClient): void {
    const send = client.query.bind(client) as (...args: unknown[]) => unknown;
    client.query = ((...args: unknown[]) => {
      const sent = send(...args);
      if (this.listeners.size > 0) this.report(args[0] as string | { text: string }, sent);
      return sent;
    }) as typeof client.query;
  }

  private report(query: string | { text: string }, sent: unknown): void {
    const sql = typeof query === 'string' ? query : query.text;
    const started = performance.now();
    const tell = (failed: boolean) => {
      for (const listener of this.listeners) listener({ sql, milliseconds: performance.now() - started, failed });
    };
    if (sent instanceof Promise)
      sent.then(
        () => tell(false),
        () => tell(true),
      );
    else tell(false);
  }
}

/** Was it given up by the database for a deadlock (40P01) or a serialisation clash (40001)? */
function isClash(error: unknown): boolean {
  if (!(error instanceof Prisma.PrismaClientKnownRequestError)) return false;
  return error.code === 'P2034' || /40001|40P01/.test(JSON.stringify(error.meta ?? {}));
}
