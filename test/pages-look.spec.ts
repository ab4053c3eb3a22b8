/**
 * Every page, in a real browser: nothing to scroll sideways, no fault that axe finds (WCAG 2.2 A and AA rules), nothing over
 * its weight, no price for a helper; in every role, in the demo and in an empty shop, with names that mean harm.
 */
import fs from 'node:fs';
import { createRequire } from 'node:module';
import { gzipSync } from 'node:zlib';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import type { Browser, Page } from 'playwright-core';
import sharp from 'sharp';
import { chapters } from '../src/pages/chapters.js';
import type { Role } from '../src/platform/operation/operation.js';
import { browserTest, openBrowser } from './harness/browser.js';
import { type DemoShop, signedIn, startDemo } from './harness/pages-shop.js';
import { startTestShop, type TestShop } from './harness/server.js';

const WIDTHS = [360, 768, 1280];
const MOST_BYTES = 30 * 1024;

let browser: Browser | undefined;
let demo: DemoShop;
let empty: TestShop;
beforeAll(async () => {
  browser = await openBrowser();
  if (!browser) return;
  demo = await startDemo();
  await addPicture();
  empty = await startTestShop();
}, 900_000);
afterAll(async () => {
  await browser?.close();
  await demo?.close();
  await empty?.close();
});

/** A machine of the demo in a picture: two planes of colour, so that it is an invented one. */
async function addPicture(): Promise<void> {
  const picture = await sharp({ create: { width: 1200, height: 900, channels: 3, background: '#8a5a2b' } })
    .composite([
      { input: { create: { width: 1200, height: 300, channels: 3, background: '#e8eef2' } }, left: 0, top: 600 },
    ])
    .jpeg()
    .toBuffer();
  const { id } = await demo.appContext.database.withShop(demo.shopId, (tx) =>
    tx.job
      .findFirstOrThrow({ where: { closedDate: null, tasks: { some: { kind: 'prime' } } } })
      .then((job) => ({ id: job.machineId })),
  );
  for (const extra of ['', '&isReceipt=true&caption=Receipt']) {
    const reply = await fetch(`${demo.url}/v1/pictures/files?machineId=${id}${extra}`, {
      method: 'POST',
      headers: {
        Authorization: `Bearer ${demo.keys.owner}`,
        'Content-Type': 'image/jpeg',
        'Idempotency-Key': `p${extra}`,
      },
      body: new Uint8Array(picture),
    });
    expect(reply.status).toBe(201);
  }
}

/** An address of each page that is declared, so that none is forgotten. */
async function addressesOf(shop: DemoShop | null): Promise<Map<string, string>> {
  const addresses = new Map<string, string>();
  const ids = shop
    ? await shop.appContext.database.withShop(shop.shopId, async (tx) => {
        const line = await tx.orderLine.findFirstOrThrow({
          where: { quantityReceived: 0, quantityCancelled: 0, needs: { some: {} } },
        });
        const job = await tx.job.findFirstOrThrow({ where: { closedDate: null, tasks: { some: { kind: 'prime' } } } });
        const finished = await tx.job.findFirstOrThrow({
          where: { offers: { some: { withdrawnDate: null } }, closedDate: null },
        });
        const picture = await tx.picture.findFirstOrThrow({ where: { isReceipt: false } });
        return {
          picture: picture.id,
          line: line.id,
          part: line.partId,
          job: job.id,
          number: job.number,
          finished: finished.number,
        };
      })
    : null;
  for (const { path } of chapters.flatMap((chapter) => chapter.pages)) {
    if (!path.includes(':')) addresses.set(path, path);
    else if (ids) {
      const number = path.startsWith('/worth') ? ids.finished : ids.number;
      const id = path.startsWith('/picture') ? ids.picture : ids.part;
      addresses.set(path, path.replace(':number', String(number)).replace(':kind', 'part').replace(':id', id));
    }
  }
  if (ids) {
    addresses.set('/missing/otherwise', `/missing/otherwise?line=${ids.line}`);
    addresses.set('/missing/order', `/missing/order?part=${ids.part}`);
    addresses.set('/paint/coat', `/paint/coat?job=${ids.job}`);
    addresses.set('/worth/bid', '/worth/bid?kind=twoStageThrower');
    addresses.set('/find', '/find?q=drift');
    addresses.set('/snow', '/snow?extraMinutesADay=60');
  } else addresses.delete('/missing/otherwise');
  return addresses;
}

const axe = fs.readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const rules = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** The page's own policy lets no foreign script in: axe is evaluated beside it. */
async function faultsOfAxe(page: Page): Promise<string[]> {
  await page.evaluate(axe);
  return page.evaluate(`axe.run(document, { runOnly: ${JSON.stringify(rules)} }).then(({ violations }) =>
    violations.map((one) => one.id + ': ' + one.nodes[0].html.slice(0, 200) + ' ' + one.nodes[0].failureSummary))`);
}

const targets = 'button, a.button, summary, select, input:not([type=hidden]):not([type=radio]):not([type=checkbox])';

interface Look {
  page: Page;
  base: string;
  role: Role;
  address: string;
}

async function look({ page, base, role, address }: Look): Promise<string[]> {
  const faults: string[] = [];
  const where = `${role} ${address}`;
  const reply = (await page.goto(base + address))!;
  const status = reply.status();
  if (status !== 200 && status !== 403) faults.push(`${where}: status ${status}`);
  for (const width of WIDTHS) {
    await page.setViewportSize({ width, height: 800 });
    const wider = await page.evaluate<number>(
      'document.documentElement.scrollWidth - document.documentElement.clientWidth',
    );
    if (wider > 0) faults.push(`${where} at ${width}: ${wider} px too wide`);
  }
  const small = await page.evaluate<string[]>(`[...document.querySelectorAll('${targets}')]
    .filter((one) => one.getBoundingClientRect().height > 0 && one.getBoundingClientRect().height < 43.5)
    .map((one) => one.outerHTML.slice(0, 120))`);
  faults.push(...small.map((html) => `${where}: target under 44 px: ${html}`));
  faults.push(...(await faultsOfAxe(page)).map((one) => `${where}: ${one}`));
  return faults;
}

async function lookAtAll(url: string, keys: Record<Role, string>, addresses: Map<string, string>): Promise<string[]> {
  const faults: string[] = [];
  for (const role of ['owner', 'helper', 'reader'] as const) {
    for (const colorScheme of ['light', 'dark'] as const) {
      // Colours differ by scheme, roles by what is shown: the dark scheme is looked at as the owner.
      if (colorScheme === 'dark' && role !== 'owner') continue;
      const { context, page, base } = await signedIn(browser!, url, keys[role], { colorScheme, bypassCSP: false });
      page.on('pageerror', (error) => faults.push(`${role}: ${error.message}`));
      page.on('console', (message) => {
        if (message.type() === 'error' && !/status of 403/.test(message.text()))
          faults.push(`${role}: ${message.text()}`);
      });
      for (const address of addresses.values()) faults.push(...(await look({ page, base, role, address })));
      await context.close();
    }
  }
  return faults;
}

browserTest(
  () => browser,
  'every page of the demo fits at 360, 768 and 1,280 px and has no fault that axe finds, in all roles',
  async () => {
    const addresses = await addressesOf(demo);
    expect(addresses.size).toBe(new Set(chapters.flatMap((chapter) => chapter.pages).map((page) => page.path)).size);
    expect(await lookAtAll(demo.url, demo.keys, addresses)).toEqual([]);
    expect(demo.faults).toEqual([]);
  },
  900_000,
);

browserTest(
  () => browser,
  'and so has every page of an empty shop',
  async () => {
    expect(await lookAtAll(await empty.app.getUrl(), empty.keys, await addressesOf(null))).toEqual([]);
  },
  900_000,
);

browserTest(
  () => browser,
  'a helper’s pages show no amount of money; the owner’s do',
  async () => {
    const addresses = [...(await addressesOf(demo)).values()];
    const amount = /\$\s?\d|CAD/;
    const texts: Record<string, string[]> = { owner: [], helper: [] };
    for (const role of ['owner', 'helper'] as const) {
      const { context, page, base } = await signedIn(browser!, demo.url, demo.keys[role]);
      for (const address of addresses) {
        await page.goto(base + address);
        const html = await page.content();
        if (amount.test(html)) texts[role]!.push(`${address}: ${amount.exec(html)![0]}`);
      }
      await context.close();
    }
    expect(texts.helper).toEqual([]);
    expect(texts.owner!.length).toBeGreaterThanOrEqual(6);
  },
  900_000,
);

browserTest(
  () => browser,
  'pictures are taken with what was found, several at once, and are seen beside it; a receipt’s is hidden from who sees no prices',
  async () => {
    const number = (await addressesOf(demo)).get('/machine/:number')!;
    const noise = await sharp({
      create: {
        width: 1400,
        height: 1000,
        channels: 3,
        background: '#777',
        noise: { type: 'gaussian', mean: 120, sigma: 50 },
      },
    })
      .jpeg({ quality: 92 })
      .toBuffer();
    const shots = ['one.jpg', 'two.jpg'].map((name) => ({ name, mimeType: 'image/jpeg', buffer: noise }));
    for (const javaScriptEnabled of [true, false]) {
      const { context, page, base } = await signedIn(browser!, demo.url, demo.keys.helper, { javaScriptEnabled });
      await page.goto(`${base}${number}/found`);
      await page.fill('[name=component]', 'Chute');
      await page.fill('[name=observation]', 'Rust at the hinge');
      await page.check('[name=verdict][value=repair]');
      await page.setInputFiles('[name=picture]', shots);
      await page.click('main form button');
      await page.waitForURL((url) => url.pathname.endsWith(number));
      const small = page.locator('.pictures img');
      expect(await small.count()).toBe(javaScriptEnabled ? 3 : 5);
      const address = await small.last().getAttribute('src');
      const cookies = (await context.cookies(base)).map((one) => `${one.name}=${one.value}`).join('; ');
      const reply = await fetch(new URL(address!, base), { headers: { cookie: cookies } });
      expect([reply.status, reply.headers.get('content-type')]).toEqual([200, 'image/jpeg']);
      expect((await reply.arrayBuffer()).byteLength).toBeLessThanOrEqual(10_240);
      expect(await page.content()).not.toContain('Receipt');
      await context.close();
    }
    expect(demo.faults).toEqual([]);
  },
  900_000,
);

browserTest(
  () => browser,
  'names that mean harm are only names',
  async () => {
    const hostile = [
      '<img src=x onerror="document.title=1">',
      '🔧'.repeat(40),
      'x'.repeat(200),
      '\u202eمكينة ثلج',
      '"&\'<b>',
    ];
    const before = await demo.appContext.database.withShop(demo.shopId, async (tx) => {
      const jobs = await tx.job.findMany({ where: { closedDate: null }, orderBy: { number: 'asc' } });
      for (const [index, job] of jobs.entries()) {
        const name = hostile[index % hostile.length]!;
        await tx.job.update({ where: { id: job.id }, data: { title: name.slice(0, 160), notes: name } });
        await tx.task.updateMany({ where: { jobId: job.id, finishedAt: null }, data: { name: name.slice(0, 160) } });
      }
      const parts = await tx.part.findMany({ orderBy: { createdAt: 'asc' } });
      for (const [index, part] of parts.entries())
        await tx.part.update({
          where: { id: part.id },
          data: { name: `${hostile[index % hostile.length]!.slice(0, 110)} ${index}` },
        });
      return jobs;
    });
    const faults: string[] = [];
    const { context, page, base } = await signedIn(browser!, demo.url, demo.keys.owner);
    page.on('pageerror', (error) => faults.push(error.message));
    for (const address of (await addressesOf(demo)).values()) {
      faults.push(...(await look({ page, base, role: 'owner', address })));
      if (await page.locator('img[src=x]').count()) faults.push(`${address}: markup in a name came to life`);
    }
    await context.close();
    await demo.appContext.database.withShop(demo.shopId, async (tx) => {
      for (const job of before)
        await tx.job.update({ where: { id: job.id }, data: { title: job.title, notes: job.notes } });
    });
    expect(faults).toEqual([]);
  },
  900_000,
);

browserTest(
  () => browser,
  'a page with all it loads weighs at most 30 kB compressed',
  async () => {
    const { context, page, base } = await signedIn(browser!, demo.url, demo.keys.owner);
    const cookies = (await context.cookies(base)).map((one) => `${one.name}=${one.value}`).join('; ');
    const get = async (address: string) => {
      const reply = await fetch(new URL(address, base), { headers: { cookie: cookies } });
      return { text: await reply.text() };
    };
    const heavy: string[] = [];
    for (const address of (await addressesOf(demo)).values()) {
      const html = (await get(base + address)).text;
      const loaded = [...html.matchAll(/(?:src|href)="(\/shop\/assets\/[^"]+)"/g)].map((match) => match[1]!);
      expect(loaded.length).toBe(3);
      const sizes = await Promise.all(
        [html, ...loaded].map(async (one, index) => gzipSync(index === 0 ? one : (await get(one)).text).length),
      );
      const total = sizes.reduce((sum, size) => sum + size, 0);
      if (total > MOST_BYTES) heavy.push(`${address}: ${total} bytes (${sizes.join(' + ')})`);
      if (address === '/') console.log(`Weight of the first page: ${total} bytes compressed (${sizes.join(' + ')})`);
    }
    await page.close();
    await context.close();
    expect(heavy).toEqual([]);
  },
);

it('has pages to look at', () => expect(chapters.flatMap((chapter) => chapter.pages).length).toBeGreaterThan(15));
