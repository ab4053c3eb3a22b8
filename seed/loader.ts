/** Puts the demo's records in through the shop's own operations, at the moments at which its people would have. */
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';
import { Temporal } from 'temporal-polyfill';
import { areas } from '../src/app.module.js';
import { lookUp } from '../src/engine/look-up.js';
import type { Transaction } from '../src/platform/database/database.js';
import { noFiles } from '../src/platform/files/file-store.js';
import { dayIn, runWithin } from '../src/platform/operation/execute.js';
import type { Operation, OperationContext } from '../src/platform/operation/operation.js';
import { noThreads } from '../src/platform/workers/pool.js';

const operations = new Map<string, Operation>(
  areas.flatMap((area) => area.operations).map((operation) => [operation.name, operation]),
);

export interface Slot {
  personId: string;
  start: Date;
  end: Date;
}

/** A record as far as most steps of the demo look at it. */
export interface LoadedRecord {
  id: string;
  version: number;
}

const OPENS = 9;
const CLOSES = 16;

export class Loader {
  private readonly stream: ReturnType<typeof xoroshiro128plus>;
  /** When each person is taken, as epoch milliseconds, so that nobody works in two places at once. */
  private readonly busy = new Map<string, { start: number; end: number }[]>();

  constructor(
    private readonly tx: Transaction,
    private readonly shop: OperationContext['shop'],
    readonly now: Date,
    seed: number,
  ) {
    this.stream = xoroshiro128plus(seed);
  }

  get today(): string {
    return dayIn(this.now, this.shop.timeZone);
  }

  /** The local day so many days before today; negative lies ahead. */
  day(daysAgo: number): string {
    return Temporal.PlainDate.from(this.today).subtract({ days: daysAgo }).toString();
  }

  daysAgo(day: string): number {
    return Temporal.PlainDate.from(day).until(Temporal.PlainDate.from(this.today)).days;
  }

  /** A local time on a day, as an instant. */
  at(day: string, hour: number, minute = 0): Date {
    const zoned = Temporal.PlainDate.from(day).toZonedDateTime({
      timeZone: this.shop.timeZone,
      plainTime: new Temporal.PlainTime(hour, minute),
    });
    return new Date(zoned.epochMilliseconds);
  }

  /** Between 0 and 1, the same at every load. */
  probability(): number {
    return uniformFloat64(this.stream);
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.probability();
  }

  /**
   * Does one operation as the owner, at noon of a day or at a moment, never later than now.
   * @typeParam R what the caller knows that the operation of this name hands over
   */
  async do<R = LoadedRecord>(name: string, input: object, when: string | Date = this.now): Promise<R> {
    const operation = operations.get(name);
    if (!operation) throw new Error(`The demo asks for an operation that is not there: ${name}`);
    const moment = when instanceof Date ? when : this.at(when, 12);
    const now = moment > this.now ? this.now : moment;
    const context: OperationContext = {
      shop: this.shop,
      role: 'owner',
      accessKeyId: null,
      tx: this.tx,
      now,
      today: dayIn(now, this.shop.timeZone),
      unattended: true,
      compute: (work, question) => noThreads.run(work, question),
      expectedCompletions: () => Promise.resolve(new Map()),
      purchaseCorrected: () => Promise.resolve(),
      files: noFiles,
      publicUrl: null,
      startHindrance: () => Promise.resolve(null),
      afterCommit: () => {},
    };
    try {
      return (await runWithin(context, operation, input)) as R;
    } catch (error) {
      throw new Error(
        `The demo could not be loaded: ${name} at ${now.toISOString()}: ${error instanceof Error ? error.message : String(error)}`,
        { cause: error },
      );
    }
  }

  addPerson(personId: string): void {
    this.busy.set(personId, []);
  }

  /** The first free stretch of a working day, for one of the people, not before a moment; taken when it lies in the past. */
  slot(notBefore: Date, minutes: number): Slot | undefined {
    let day = dayIn(notBefore, this.shop.timeZone);
    for (let tries = 0; tries < 400; tries += 1, day = Temporal.PlainDate.from(day).add({ days: 1 }).toString()) {
      if (Temporal.PlainDate.from(day).dayOfWeek === 7) continue;
      const opens = Math.max(this.at(day, OPENS).getTime(), notBefore.getTime());
      const closes = this.at(day, CLOSES).getTime();
      const found = this.freeOn(opens, closes, minutes * 60_000);
      if (!found) continue;
      if (found.end > this.now.getTime()) return undefined;
      lookUp(this.busy, found.personId).push({ start: found.start, end: found.end });
      return { personId: found.personId, start: new Date(found.start), end: new Date(found.end) };
    }
    return undefined;
  }

  private freeOn(
    opens: number,
    closes: number,
    length: number,
  ): { personId: string; start: number; end: number } | undefined {
    let best: { personId: string; start: number; end: number } | undefined;
    for (const [personId, taken] of this.busy) {
      let start = opens;
      for (const { start: from, end: until } of [...taken].sort((a, b) => a.start - b.start)) {
        if (until > start && from < start + length) start = until;
      }
      if (start + length <= closes && (!best || start < best.start)) best = { personId, start, end: start + length };
    }
    return best;
  }
}
