/**
 * A real browser for tests of the pages, out of the package registry. Where none can start, those tests say so and are passed
 * over; under CI that fails.
 */
import { createRequire } from 'node:module';
import { it } from '@jest/globals';
import type { Browser } from 'playwright-core';

// Before the package is loaded: it then brings the libraries that a bare system lacks.
process.env.AWS_LAMBDA_JS_RUNTIME ??= 'nodejs22.x';

/** None of the package's own arguments, which turn the web's security off. */
const args = ['--no-sandbox', '--no-zygote', '--headless=shell', '--font-render-hinting=none', '--disable-gpu'];

let executablePath: string | undefined;
/** To start another of the same browser, once one has been opened. */
export const browserArgs = () => ({ executablePath: executablePath!, args, headless: true });

let why: string | undefined;
export async function openBrowser(): Promise<Browser | undefined> {
  try {
    const { default: chromium } = await import('@sparticuz/chromium');
    const { chromium: playwright } = createRequire(import.meta.url)(
      'playwright-core',
    ) as typeof import('playwright-core');
    executablePath = await chromium.executablePath();
    return await playwright.launch(browserArgs());
  } catch (error) {
    why = error instanceof Error ? error.message.split('\n')[0] : String(error);
    if (process.env.CI) throw error;
    console.warn(`No browser can start here (${why}): the tests of the pages are passed over.`);
    return undefined;
  }
}

/** A test that needs the browser; it says so when it is passed over. */
export const browserTest = (
  browser: () => Browser | undefined,
  name: string,
  work: () => Promise<void>,
  limit = 600_000,
): void =>
  void it(
    name,
    async () => {
      if (browser()) await work();
      else console.warn(`Passed over without a browser: ${name}`);
    },
    limit,
  );
