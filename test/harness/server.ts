/** A shop of its own for a test file: a real database, the real server over HTTP, and a key of each role. */
import { randomUUID } from 'node:crypto';
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { pino } from 'pino';
import request from 'supertest';
import { findInconsistencies, type Inconsistency } from '../../src/consistency/find-inconsistencies.js';
import { ports } from '../../src/opening/ports.js';
import type { Database } from '../../src/platform/database/database.js';
import { type FileStore, folderStore } from '../../src/platform/files/file-store.js';
import { faultsTo } from '../../src/platform/observability/observability.js';
import { type AppContext, inTransaction } from '../../src/platform/operation/execute.js';
import type { OperationContext, Role } from '../../src/platform/operation/operation.js';
import { noThreads, type Threads } from '../../src/platform/workers/pool.js';
import { makeServer } from '../../src/server.js';
import { openShop } from '../../src/shop/open-shop.js';
import { addAccessKey } from '../../src/shop/shop.operations.js';
import { createTestDatabase } from './database.js';
import { FailingStatements } from './failing-statements.js';

export interface TestShopSettings {
  currency?: string;
  timeZone?: string;
  hourlyValue?: string;
  spaceCostPerDay?: string;
  haulCostPerKilometre?: string;
  taxScheme?: 'none' | 'salesTax' | 'marginScheme';
  taxRatePercent?: number;
  salesTaxBasis?: 'item' | 'invoice';
  marginAccounting?: 'item' | 'global';
  taxPeriodMonths?: number;
  tradeInLowersTax?: boolean;
}

export interface Sent {
  /** The header If-Match; a number stands for a version. */
  version?: number | string;
  idempotencyKey?: string | null;
  headers?: Record<string, string>;
}

type Verb = 'get' | 'post' | 'patch' | 'put' | 'delete';

// Replies are whatever JSON came back; tests assert on what they find.
// eslint-disable-next-line @typescript-eslint/no-explicit-any
export type Json = any;

export interface TestShop {
  app: NestExpressApplication;
  database: Database;
  adminUrl: string;
  /** What the server runs with; a test may set another public address. */
  appContext: AppContext;
  /** Where its pictures lie. */
  files: FileStore;
  shopId: string;
  keys: Record<Role, string>;
  /** The clock the server reads; set it to move time. */
  clock: { now: Date };
  /** A REST request as a role; a POST gets a fresh Idempotency-Key unless one is given (null leaves it out). */
  rest(role: Role, verb: Verb, path: string, body?: Json, sent?: Sent): request.Test;
  /** A GraphQL request as a role. */
  graphql(role: Role, query: string, variables?: Json): Promise<{ data: Json; errors?: Json[] }>;
  /** Calls a plain function of an area as the shop's owner, in a transaction of its own. */
  within<T>(work: (context: OperationContext) => Promise<T>): Promise<T>;
  /** Sums that do not equal their records, of the shop: none when the books are right. */
  discrepancies(): Promise<Inconsistency[]>;
  /** A second shop on the same database and server. */
  anotherShop(): Promise<{ shopId: string; keys: Record<Role, string> }>;
  close(): Promise<void>;
}

/** A Tuesday morning in the invented shop's own zone. */
export const TEST_NOW = new Date('2026-09-15T13:00:00Z');

const standard = {
  name: 'Test shop',
  currency: 'CAD',
  timeZone: 'America/Toronto',
  latitude: 45.4,
  longitude: -75.7,
  unitSystem: 'metric' as const,
  hourlyValue: '25.00',
  spaceCostPerDay: '0.50',
  haulCostPerKilometre: '0.40',
  taxScheme: 'none' as const,
  taxRatePercent: 0,
  openingHours: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, opens: '09:00', closes: '17:00' })),
  snowThresholdMillimetres: 25,
  readinessMarginDays: 14,
  seasonEndMonthDay: '03-15',
  assemblyWaitDays: 14,
  enquiryElasticity: 4,
  salesTaxBasis: 'invoice' as const,
  marginAccounting: 'item' as const,
  taxPeriodMonths: 3,
  tradeInLowersTax: false,
  maxWaits: [{ fromKind: 'derust', toKind: 'prime', maxMinutes: 1440 }],
};

async function shopWithKeys(database: Database, settings: TestShopSettings) {
  const { shopId, filled } = await openShop(database, { ...standard, ...settings }, async (tx, id) => ({
    owner: (await addAccessKey(tx, id, 'Owner', 'owner')).key,
    helper: (await addAccessKey(tx, id, 'Helper', 'helper')).key,
    reader: (await addAccessKey(tx, id, 'Reader', 'reader')).key,
  }));
  return { shopId, keys: filled };
}

/** @param threads where the engines compute; on the spot unless given */
export async function startTestShop(
  settings: TestShopSettings = {},
  now: Date = TEST_NOW,
  threads: Threads = noThreads,
): Promise<TestShop> {
  const opened = await createTestDatabase();
  const { database } = opened;
  const drill = process.env.DRILL_FOLDER
    ? new FailingStatements(database, opened.adminUrl, process.env.DRILL_FOLDER)
    : undefined;
  const clock = { now };
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-files-'));
  const files = folderStore(folder);
  const validationErrors: string[] = [];
  const { shopId, keys } = await shopWithKeys(database, settings);
  // Faults of ours are printed: a test that only sees "500" could not be mended.
  const log = pino(
    { level: 'error', base: undefined },
    { write: (line: string) => void (drill?.armed || (validationErrors.push(line), process.stderr.write(line))) },
  );
  const appContext: AppContext = {
    database,
    clock: () => clock.now,
    threads,
    files,
    checkReplies: true,
    ports,
    reportFault: faultsTo(log),
  };
  const app = await makeServer({ appContext, log, version: 'test', requestsPerMinute: 1_000_000 });
  await app.listen(0, '127.0.0.1');
  const server = app.getHttpServer();
  return {
    app,
    database,
    adminUrl: opened.adminUrl,
    appContext,
    files,
    shopId,
    keys,
    clock,
    rest(role, verb, path, body, sent = {}) {
      const idempotencyKey = sent.idempotencyKey ?? randomUUID();
      const make = () => {
        let made = request(server)
          [verb](path.startsWith('/v1') ? path : `/v1${path}`)
          .set('Authorization', `Bearer ${keys[role]}`);
        if (verb === 'post' && sent.idempotencyKey !== null) made = made.set('Idempotency-Key', idempotencyKey);
        if (sent.version !== undefined)
          made = made.set('If-Match', typeof sent.version === 'number' ? `"${sent.version}"` : sent.version);
        for (const [name, value] of Object.entries(sent.headers ?? {})) made = made.set(name, value);
        return body === undefined ? made : made.send(body);
      };
      return drill ? drill.around(verb, path, make) : make();
    },
    async graphql(role, query, variables) {
      const response = await request(server)
        .post('/graphql')
        .set('Authorization', `Bearer ${keys[role]}`)
        .set('Accept', 'application/graphql-response+json, application/json;q=0.9')
        .send({ query, variables });
      return response.body as { data: Json; errors?: Json[] };
    },
    within: (work) => inTransaction(appContext, { shopId, role: 'owner', accessKeyId: null }, work),
    discrepancies: () =>
      inTransaction(appContext, { shopId, role: 'owner', accessKeyId: null }, ({ tx }) => findInconsistencies(tx)),
    anotherShop: () => shopWithKeys(database, settings),
    async close() {
      await app.close();
      await drill?.close();
      await opened.close();
      fs.rmSync(folder, { recursive: true, force: true });
    },
  };
}
