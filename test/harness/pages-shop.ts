/** The pages of a shop, as a signed-in browser sees them. */
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import { pino } from 'pino';
import type { Browser, BrowserContext, BrowserContextOptions, Page } from 'playwright-core';
import { loadDemo } from '../../seed/demo.js';
import { ports } from '../../src/opening/ports.js';
import { shopCode } from '../../src/platform/access/shop-code.js';
import { folderStore } from '../../src/platform/files/file-store.js';
import { faultsTo } from '../../src/platform/observability/observability.js';
import type { AppContext } from '../../src/platform/operation/execute.js';
import type { Role } from '../../src/platform/operation/operation.js';
import { noThreads } from '../../src/platform/workers/pool.js';
import { makeServer } from '../../src/server.js';
import { addAccessKey } from '../../src/shop/shop.operations.js';
import { createTestDatabase } from './database.js';

export interface DemoShop {
  app: NestExpressApplication;
  appContext: AppContext;
  url: string;
  base: string;
  shopId: string;
  keys: Record<Role, string>;
  clock: { now: Date };
  /** What the service logged as its own faults. */
  faults: string[];
  close(): Promise<void>;
}

/** A Wednesday morning of the demo. */
export const DEMO_NOW = new Date('2026-11-25T15:00:00Z');

export async function startDemo(publicUrl: string | null = null): Promise<DemoShop> {
  const opened = await createTestDatabase();
  const clock = { now: DEMO_NOW };
  const files = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-files-'));
  const { shopId, ownerKey } = await loadDemo(opened.database, DEMO_NOW);
  const keys = await opened.database.withShop(shopId, async (tx) => ({
    owner: ownerKey,
    helper: (await addAccessKey(tx, shopId, 'Helper', 'helper')).key,
    reader: (await addAccessKey(tx, shopId, 'Reader', 'reader')).key,
  }));
  const faults: string[] = [];
  const log = pino({ level: 'error', base: undefined }, { write: (line: string) => void faults.push(line) });
  const appContext: AppContext = {
    database: opened.database,
    clock: () => clock.now,
    threads: noThreads,
    ports,
    files: folderStore(files),
    publicUrl,
    checkReplies: true,
    reportFault: faultsTo(log),
  };
  const app = await makeServer({ appContext, log, version: 'test', requestsPerMinute: 1_000_000 });
  await app.listen(0, '127.0.0.1');
  return {
    app,
    appContext,
    url: await app.getUrl(),
    base: `${await app.getUrl()}/shop/${shopCode(shopId)}`,
    shopId,
    keys,
    clock,
    faults,
    async close() {
      await app.close();
      await opened.close();
      fs.rmSync(files, { recursive: true, force: true });
    },
  };
}

/** Signs a fresh browser profile in with a key, as a person does. */
export async function signedIn(
  browser: Browser,
  url: string,
  key: string,
  options: BrowserContextOptions = {},
): Promise<{ context: BrowserContext; page: Page; base: string }> {
  const context = await browser.newContext({ viewport: { width: 360, height: 740 }, ...options });
  // A machine that does much else at once is slow, and not wrong.
  context.setDefaultTimeout(150_000);
  const page = await context.newPage();
  await page.goto(`${url}/shop`);
  await page.fill('input[name=key]', key);
  await page.click('button');
  await page.waitForURL(/\/shop\/[0-9a-f]{8}/);
  return { context, page, base: page.url().replace(/\/$/, '') };
}
