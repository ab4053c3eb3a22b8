/**
 * Reads stay quick while a plan is made: the service as a process of its own, on the demo, newly started, its code
 * still cold.
 */
import fs from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import { Start } from './harness/start.js';

let folder: string;
let service: Start | undefined;
beforeAll(() => {
  folder = fs.mkdtempSync(path.join(os.tmpdir(), 'frostwright-responsive-'));
});
afterAll(async () => {
  await service?.stop('SIGKILL');
  fs.rmSync(folder, { recursive: true, force: true });
});

const pause = (milliseconds: number) => new Promise((resolve) => setTimeout(resolve, milliseconds));

interface Progress {
  upToDate: boolean;
  renewal: { stage: string; share: number } | null;
}

class Owner {
  constructor(
    private readonly address: string,
    private readonly key: string,
  ) {}

  async ask<T>(where: string, body?: object): Promise<T> {
    const headers = { Authorization: `Bearer ${this.key}`, ...(body ? { 'Content-Type': 'application/json' } : {}) };
    const response = await fetch(`${this.address}/v1${where}`, {
      headers,
      ...(body ? { method: 'POST', body: JSON.stringify(body) } : {}),
    });
    const reply = (await response.json()) as T;
    if (!response.ok) throw new Error(`${where}: ${response.status} ${JSON.stringify(reply)}`);
    return reply;
  }

  progress = (): Promise<Progress> => this.ask('/plan/progress');

  /** Milliseconds of one simple read after another, until told to stop. */
  async read(until: () => boolean): Promise<number[]> {
    const times: number[] = [];
    while (!until()) {
      const from = performance.now();
      await this.ask('/places');
      times.push(performance.now() - from);
      // At most 2,400 a minute: below what one address may ask.
      await pause(25);
    }
    return times;
  }

  readSome(count: number): Promise<number[]> {
    let left = count;
    return this.read(() => left-- === 0);
  }

  async settled(): Promise<void> {
    while (!(await this.progress()).upToDate) await pause(200);
  }
}

const p99 = (times: readonly number[]): number => [...times].sort((a, b) => a - b)[Math.ceil(0.99 * times.length) - 1]!;

/** One start, reads at rest, a change of the weather, reads until the new plan is kept. */
async function attempt(key: string): Promise<{ rest: number; busy: number; reads: number; stages: Set<string> }> {
  service = new Start(folder);
  const owner = new Owner(await service.address(), key);
  await owner.settled();
  // The reading itself is to be warm, so that what is compared is the planning.
  await owner.readSome(100);
  const rest = await owner.readSome(200);
  const { items } = await owner.ask<{ items: { id: string }[] }>('/stations?first=1');
  const day = { day: '2001-03-04', highCelsius: 3, lowCelsius: -2 - Math.random(), snowfallMillimetres: 0 };
  await owner.ask(`/stations/${items[0]!.id}/days`, { days: [day] });
  const stages = new Set<string>();
  let under: 'waiting' | 'way' | 'done' = 'waiting';
  const watching = (async () => {
    while (under !== 'done') {
      const { upToDate, renewal } = await owner.progress();
      if (renewal) {
        under = 'way';
        stages.add(renewal.stage);
      } else if (upToDate) under = 'done';
      await pause(50);
    }
  })();
  while ((under as string) === 'waiting') await pause(5);
  const busy = await owner.read(() => under === 'done');
  await watching;
  await service.stop('SIGTERM');
  service = undefined;
  return { rest: p99(rest), busy: p99(busy), reads: busy.length, stages };
}

it('the slowest of a hundred reads takes at most three times as long while the first plan after a start is made', async () => {
  service = new Start(folder);
  await service.address();
  const key = service.ownerKey;
  await service.stop('SIGTERM');
  // What else runs on the machine disturbs both; the best of some tries is what the service itself does.
  const tries: Awaited<ReturnType<typeof attempt>>[] = [];
  for (let k = 0; k < 5 && !tries.some((one) => one.busy <= 3 * one.rest); k += 1) tries.push(await attempt(key));
  for (const one of tries) {
    expect(one.reads).toBeGreaterThan(50);
    expect([...one.stages].some((stage) => stage === 'searching' || stage === 'simulating')).toBe(true);
  }
  if (process.env.SHOW_FIGURES)
    console.log(
      tries
        .map(
          (one) =>
            `at rest ${one.rest.toFixed(1)} ms, while planning ${one.busy.toFixed(1)} ms, ${one.reads} reads, ${[...one.stages].join()}`,
        )
        .join('\n'),
    );
  expect(Math.min(...tries.map((one) => one.busy / one.rest))).toBeLessThanOrEqual(3);
}, 180_000);
