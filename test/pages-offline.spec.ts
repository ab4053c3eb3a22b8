/**
 * Taps without a network: kept on the device, sent once and in order when it is back, though the browser was killed
 * meanwhile.
 */
import fs from 'node:fs';
import { createRequire } from 'node:module';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect } from '@jest/globals';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { browserArgs, browserTest, openBrowser } from './harness/browser.js';
import { signedIn } from './harness/pages-shop.js';
import { startTestShop, type TestShop } from './harness/server.js';

let browser: Browser | undefined;
let shop: TestShop;
let url: string;
let placeId: string;
beforeAll(async () => {
  browser = await openBrowser();
  shop = await startTestShop();
  url = await shop.app.getUrl();
  placeId = (await shop.rest('owner', 'post', '/places', { name: 'Booth', kind: 'sprayArea' }).expect(201)).body.id;
}, 300_000);
afterAll(async () => {
  await browser?.close();
  await shop?.close();
});

const readings = () =>
  shop.database.withShop(shop.shopId, (tx) =>
    tx.temperatureReading.findMany({ where: { placeId }, orderBy: { readAt: 'asc' } }),
  );

async function note(page: Page, celsius: number): Promise<void> {
  const form = page.locator('form[data-act=reading]');
  await form.getByLabel('Air').fill(String(celsius));
  await form.getByRole('button', { name: 'Note it' }).click();
}
async function openForm(page: Page, base: string): Promise<void> {
  await page.goto(`${base}/paint`);
  await page.getByText('Note what a thermometer shows').click();
}

browserTest(
  () => browser,
  'with a network a tap is done at once, one page after another',
  async () => {
    const { context, page, base } = await signedIn(browser!, url, shop.keys.owner);
    for (const celsius of [11, 12, 13]) {
      await openForm(page, base);
      const started = Date.now();
      await note(page, celsius);
      await page.locator('.note[role=status]', { hasText: `Noted: ${celsius}` }).waitFor();
      // A page that went before must not make the next one wait for its turn to run out (35 seconds).
      expect(Date.now() - started).toBeLessThan(30_000);
      shop.clock.now = new Date(shop.clock.now.getTime() + 60_000);
    }
    expect((await readings()).map((one) => Number(one.celsius))).toEqual([11, 12, 13]);
    await context.close();
  },
);

browserTest(
  () => browser,
  'twenty taps without one are kept through the browser’s death, and applied once each, in order',
  async () => {
    const profile = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-profile-'));
    const { chromium: playwright } = createRequire(import.meta.url)(
      'playwright-core',
    ) as typeof import('playwright-core');
    const launch = (): Promise<BrowserContext> =>
      playwright.launchPersistentContext(profile, {
        ...browserArgs(),
        viewport: { width: 360, height: 740 },
      });
    const before = (await readings()).length;
    let context = await launch();
    context.setDefaultTimeout(150_000);
    let page = await context.newPage();
    await page.goto(`${url}/shop`);
    await page.fill('input[name=key]', shop.keys.owner);
    await page.click('button');
    await page.waitForURL(/\/shop\/[0-9a-f]{8}/);
    const base = page.url().replace(/\/$/, '');
    await openForm(page, base);
    await context.setOffline(true);
    for (let tap = 1; tap <= 20; tap += 1) {
      await note(page, tap);
      await page.locator('#waiting', { hasText: tap === 1 ? '1 note waits' : `${tap} notes wait` }).waitFor();
      await page.evaluate("delete document.querySelector('form[data-act=reading]').dataset.busy");
      await page.evaluate(
        "document.querySelectorAll('form[data-act=reading] button').forEach((one) => (one.disabled = false))",
      );
    }
    expect((await readings()).length).toBe(before);
    await context.close();
    context = await launch();
    context.setDefaultTimeout(150_000);
    page = await context.newPage();
    await page.goto(`${base}/paint`);
    for (let tries = 0; tries < 100 && (await readings()).length < before + 20; tries += 1)
      await new Promise((resolve) => setTimeout(resolve, 500));
    const sent = await shop.database.withShop(shop.shopId, (tx) =>
      tx.deviceAct.findMany({ where: { said: { startsWith: 'Noted: ' } }, orderBy: { id: 'asc' } }),
    );
    expect(sent.slice(-20).map((one) => Number(/Noted: (\d+)/.exec(one.said)![1]))).toEqual(
      Array.from({ length: 20 }, (_, index) => index + 1),
    );
    await context.close();
    fs.rmSync(profile, { recursive: true, force: true });
  },
  600_000,
);
