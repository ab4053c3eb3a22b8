/**
 * What a person does in a week, by taps alone: each journey from the first page, signed in, counted. Typing into a field is a
 * tap for the field; choosing a picture is one. The same journeys pass without the script.
 */
import { afterAll, beforeAll, expect } from '@jest/globals';
import type { Browser, BrowserContext, Locator, Page } from 'playwright-core';
import { browserTest, openBrowser } from './harness/browser.js';
import { DEMO_NOW, type DemoShop, signedIn, startDemo } from './harness/pages-shop.js';

let browser: Browser | undefined;
let demo: DemoShop;
beforeAll(async () => {
  browser = await openBrowser();
  if (browser) demo = await startDemo();
}, 300_000);
afterAll(async () => {
  await browser?.close();
  await demo?.close();
});

/** Somebody at a phone, whose taps and typing are counted. */
class Hand {
  taps = 0;
  characters = 0;
  constructor(
    readonly page: Page,
    readonly base: string,
    readonly script: boolean,
  ) {}

  async home(): Promise<this> {
    await this.page.goto(`${this.base}/`);
    this.taps = 0;
    this.characters = 0;
    return this;
  }
  async tap(what: Locator): Promise<void> {
    this.taps += 1;
    await what.first().click();
    await this.page.waitForLoadState();
  }
  /** A press that has something done: the page that follows says so. */
  async press(what: Locator, said: RegExp): Promise<void> {
    this.taps += 1;
    await what.first().click();
    await this.page.locator('.note[role=status]', { hasText: said }).first().waitFor({ timeout: 30_000 });
    await this.page.waitForLoadState();
  }
  link(name: string | RegExp): Locator {
    return this.page.getByRole('link', { name });
  }
  button(name: string | RegExp): Locator {
    return this.page.getByRole('button', { name });
  }
  async type(label: string | RegExp, text: string): Promise<void> {
    this.taps += 1;
    this.characters += text.length;
    await this.page.getByLabel(label).first().fill(text);
  }
  async more(question: string): Promise<void> {
    await this.tap(this.page.locator('.bar a', { hasText: 'More' }));
    await this.tap(this.page.locator('#ask').getByRole('link', { name: question }));
  }
}

async function handOf(script: boolean): Promise<{ hand: Hand; context: BrowserContext }> {
  const { context, page, base } = await signedIn(browser!, demo.url, demo.keys.owner, { javaScriptEnabled: script });
  return { hand: new Hand(page, base, script), context };
}
const rows = <T>(work: Parameters<typeof demo.appContext.database.withShop<T>>[1]) =>
  demo.appContext.database.withShop(demo.shopId, work);

const counted: string[] = [];
afterAll(() => console.log(`Taps:\n${counted.join('\n')}`));

async function journey(name: string, hand: Hand, most: number, work: (hand: Hand) => Promise<void>): Promise<void> {
  await hand.home();
  await work(hand);
  counted.push(
    `  ${name}${hand.script ? '' : ', without script'}: ${hand.taps} taps of ${most}, ${hand.characters} characters`,
  );
  expect({ name, taps: hand.taps }).toEqual({ name, taps: Math.min(hand.taps, most) });
}

for (const script of [true, false]) {
  const words = script ? 'with the script' : 'without the script';

  browserTest(
    () => browser,
    `a week's journeys ${words}, within their taps`,
    async () => {
      const { hand, context } = await handOf(script);
      const { page } = hand;

      // Who works with this device, asked once.
      await hand.home();
      await hand.press(hand.button('Mira Aldane'), /works with this device/);

      await journey('intake', hand, 8, async () => {
        await hand.more('New here');
        await hand.tap(page.getByText('Single-stage thrower'));
        await hand.type('Paid', '40');
        await hand.type('Maker and model', script ? 'Norvane Drift' : 'Norvane Ridge');
        await hand.press(hand.button('Save'), /Saved as job \d+/);
      });
      expect(hand.characters).toBeLessThanOrEqual(40);

      const before = await rows((tx) => tx.receipt.count());
      await journey('a bolt came', hand, 4, async () => {
        await hand.tap(page.locator('.bar').getByRole('link', { name: 'Missing' }));
        await hand.press(hand.button(script ? /Came:.*bolt/i : /Came:.*belt/i), /Came: /);
      });
      expect(await rows((tx) => tx.receipt.count())).toBe(before + 1);

      await journey('order three bolts', hand, 8, async () => {
        await hand.tap(page.locator('.bar').getByRole('link', { name: 'Missing' }));
        await hand.tap(hand.link('Order something'));
        await hand.tap(hand.link(/Scraper bar bolt/));
        await hand.type('How many', '3');
        await hand.press(hand.button('Note it as ordered'), /Noted as ordered: 3/);
      });

      await journey('before the snow', hand, 2, async () => {
        await hand.more('Before the snow');
        expect(await page.locator('h1').textContent()).toMatch(/ready|snow/);
      });

      await journey('start a task', hand, 1, async () => {
        await hand.press(hand.button('Start'), /Begun/);
      });
      await journey('stop it', hand, 1, async () => {
        await hand.press(hand.button('Stop for now'), /Stopped/);
      });
      await journey('finish a task', hand, 2, async () => {
        await hand.press(hand.button('Done'), /Done .*: /);
      });
      await hand.press(hand.button('Take it back'), /Taken back/);

      await journey('may I recoat', hand, 2, async () => {
        await hand.tap(page.locator('.bar').getByRole('link', { name: 'Paint' }));
        expect(await page.locator('main').textContent()).toMatch(/Recoat now|Do not recoat/);
      });

      await journey('price and sale of a finished machine', hand, 12, async () => {
        await hand.more('What is it worth');
        await hand.tap(page.locator('table').first().getByRole('link').first());
        const failed = await hand.link('Make them').count();
        expect(failed).toBe(0);
        if (await hand.button(/Offer at|Ask .* now/).count())
          await hand.press(hand.button(/Offer at|Ask .* now/), /Offered at/);
        await hand.tap(page.getByText('It is sold'));
        await hand.press(hand.button('Sold'), /Sold for/);
      });
      await hand.press(hand.button('Take it back'), /reversed/);

      await journey('a finding, and the part it needs', hand, 20, async () => {
        await hand.tap(page.locator('.name a').first());
        await hand.tap(hand.link('Found something'));
        await hand.type('On which part of it', 'Belt');
        await hand.type('What you saw', 'Frayed');
        await hand.tap(page.getByText('replace', { exact: true }));
        await hand.press(hand.button('Note it'), /Noted: Belt/);
        await hand.tap(hand.link('A part is needed'));
        await hand.type(/^Part/, `Belt for the drive ${script}`);
        await hand.press(hand.button('Note it'), /Needed: 1/);
      });

      await journey('a coat is on', hand, 12, async () => {
        await hand.tap(page.locator('.bar').getByRole('link', { name: 'Paint' }));
        await hand.tap(hand.link('A coat is on'));
        await hand.tap(hand.link(/Job \d+/));
        await hand.type('What was painted', 'Chute');
        hand.taps += 1;
        await page.getByLabel('Out of which can').selectOption({ index: 1 });
        await hand.press(hand.button('Note the coat'), /Coat \d+ on Chute/);
      });
      await hand.press(hand.button('Take it back'), /struck from the record/);

      await journey('days off', hand, 8, async () => {
        await hand.more('The shop');
        await hand.tap(page.getByText('More days off'));
        await hand.type('From', '2026-12-24');
        const form = page.locator('form[data-act=dayOff]');
        hand.taps += 1;
        await form.getByRole('button', { name: 'Note it' }).click();
        await page.locator('.note[role=status]', { hasText: 'The days off are noted' }).waitFor();
      });
      await hand.press(hand.button('Take it back'), /Taken back/);

      await journey('a price seen', hand, 12, async () => {
        await hand.more('What is it worth');
        await hand.tap(page.getByText('A price you saw'));
        await hand.tap(page.locator('form[data-act=seen]').getByText('Two-stage thrower'));
        await hand.type('Price', '450');
        await hand.type('Maker', 'Norvane');
        await hand.press(hand.button('Note it'), /Noted: Norvane asked at \$450/);
      });
      await hand.press(hand.button('Take it back'), /struck/);

      await journey('find a word', hand, 4, async () => {
        await hand.more('Find');
        await hand.type(/Any word/, 'belt');
        await hand.tap(hand.button('Find'));
        expect(await page.locator('h1').textContent()).toMatch(/for “belt”/);
      });

      await journey('what if', hand, 4, async () => {
        await hand.more('Before the snow');
        await hand.tap(hand.link('An hour more each day'));
        expect(await page.locator('.card').first().textContent()).toMatch(
          /machines ready instead of|season is not known/,
        );
      });
      expect(demo.faults).toEqual([]);
      expect(demo.clock.now).toEqual(DEMO_NOW);
      await context.close();
    },
    400_000,
  );
}

browserTest(
  () => browser,
  'the later of two devices on one task is told what happened, and nothing is lost',
  async () => {
    const one = await handOf(true);
    const two = await handOf(true);
    await one.hand.home();
    if (await one.hand.button('Odran Pell').count()) await one.hand.press(one.hand.button('Odran Pell'), /works with/);
    await one.hand.home();
    await two.hand.home();
    await one.hand.press(one.hand.button('Done'), /Done/);
    await two.hand.button('Done').first().click();
    const told = two.hand.page.locator('[role=alert]').first();
    await told.waitFor();
    expect(await told.textContent()).toMatch(/was finished at/);
    await one.context.close();
    await two.context.close();
  },
);
