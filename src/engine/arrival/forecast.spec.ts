import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { dayNumber, isoDay } from '../days.js';
import {
  type ArrivalLine,
  arrivalQuantile,
  forecastArrival,
  learnArrivals,
  probabilityByDate,
  sampleArrivalOffset,
} from './index.js';

const day = (n: number) => isoDay(20_000 + n);

/** A supplier that takes about ten days and promises eight. */
function steady(count: number, supplierId = 'Eastgate', days = 10): ArrivalLine[] {
  return Array.from({ length: count }, (_, k) => ({
    id: `${supplierId}-${k}`,
    supplierId,
    family: 'belt',
    orderedDate: day(-400 + 7 * k),
    receivedDate: day(-400 + 7 * k + days + (k % 3) - 1),
    promises: [{ statedDate: day(-400 + 7 * k), promisedDate: day(-400 + 7 * k + 8) }],
  }));
}

const outstanding = (line: Partial<ArrivalLine> = {}): ArrivalLine => ({
  id: 'open',
  supplierId: 'Eastgate',
  family: 'belt',
  orderedDate: day(-5),
  ...line,
});

describe('a shop with no history', () => {
  it('answers from the stated prior and says so', () => {
    const forecast = forecastArrival(learnArrivals([], day(0)), outstanding({ orderedDate: day(0) }), day(0));
    // The stated prior: about 8 days, a day's arrival counting to that day's end.
    expect(dayNumber(forecast.p50Date!) - 20_000).toBeGreaterThanOrEqual(7);
    expect(dayNumber(forecast.p50Date!) - 20_000).toBeLessThanOrEqual(8);
    expect(forecast.reasons[0]).toContain('no receipts of its own yet');
    expect(forecast.parts).toEqual([{ kind: 'history', share: 1, receipts: 0, outstanding: 0 }]);
  });
});

describe('history, promises and waiting', () => {
  const model = learnArrivals(steady(20), day(0));

  it('learns the supplier and narrows with receipts', () => {
    const few = forecastArrival(learnArrivals(steady(3), day(0)), outstanding({ orderedDate: day(0) }), day(0));
    const many = forecastArrival(model, outstanding({ orderedDate: day(0) }), day(0));
    expect(Math.abs(dayNumber(many.p50Date!) - 20_010)).toBeLessThanOrEqual(1);
    expect(dayNumber(many.p95Date!) - dayNumber(many.p50Date!)).toBeLessThan(
      dayNumber(few.p95Date!) - dayNumber(few.p50Date!),
    );
  });

  it('takes a promise for what the supplier’s promises have been worth', () => {
    // Eight days promised have meant ten: a promise of 20 days is read as about 25.
    const forecast = forecastArrival(
      model,
      outstanding({ orderedDate: day(0), promises: [{ statedDate: day(0), promisedDate: day(20) }] }),
      day(0),
    );
    const promise = forecast.parts.find((p) => p.kind === 'promise')!;
    expect(promise.receipts).toBe(20);
    expect(promise.share).toBeGreaterThan(0.5);
    expect(forecast.reasons.join(' ')).toContain('1.2 times the time it names');
  });

  it.each([40, 56, 120, 459])('takes a date %d days off, far beyond ordinary lead times, for what it is', (named) => {
    // Eight days promised have meant ten, so a date is passed by (10 + ½) / (8 + ½) = 1.24. A weighted mean of the logs would
    // say far less: that these goods, too, are half-way to ten days.
    const line = outstanding({ orderedDate: day(0), promises: [{ statedDate: day(0), promisedDate: day(named) }] });
    const forecast = forecastArrival(model, line, day(0));
    expect(dayNumber(forecast.p50Date!) - 20_000).toBeGreaterThan(1.17 * named);
    expect(dayNumber(forecast.p50Date!) - 20_000).toBeLessThan(1.31 * named);
    expect(forecast.parts.find(({ kind }) => kind === 'history')!.share).toBeLessThan(0.02);
    expect(forecast.reasons.join(' ')).toContain('far beyond ordinary lead times, as for goods that are not in stock');
    // Taken back, that date makes nothing come sooner.
    const back = {
      ...line,
      orderedDate: day(-3),
      promises: [
        { statedDate: day(-3), promisedDate: day(named) },
        { statedDate: day(0), promisedDate: null },
      ],
    };
    const status = { ...back, promises: back.promises.slice(0, 1) };
    expect(forecastArrival(model, back, day(0)).p50Date! >= forecastArrival(model, status, day(0)).p50Date!).toBe(true);
  });

  it('lets a young shop move towards a far date too, as little as it knows', () => {
    const far = forecastArrival(
      learnArrivals(steady(3), day(0)),
      outstanding({ orderedDate: day(0), promises: [{ statedDate: day(0), promisedDate: day(56) }] }),
      day(0),
    );
    expect(dayNumber(far.p50Date!) - 20_000).toBeGreaterThan(56);
  });

  it('does not take a far date for an ordinary one because a promise or two slipped badly', () => {
    // Ten days named, then none, and 27 taken; five named and seven taken: far dates must not seem mere slips of the tongue.
    const slipped: ArrivalLine[] = [
      {
        id: 'a',
        supplierId: 'Other',
        family: 'fastener',
        orderedDate: day(-27),
        receivedDate: day(0),
        promises: [
          { statedDate: day(-27), promisedDate: day(-17) },
          { statedDate: day(-15), promisedDate: null },
        ],
      },
      {
        id: 'b',
        supplierId: 'Other',
        family: 'belt',
        orderedDate: day(-27),
        receivedDate: day(-20),
        promises: [{ statedDate: day(-27), promisedDate: day(-22) }],
      },
    ];
    const far = forecastArrival(
      learnArrivals(slipped, day(0)),
      outstanding({ orderedDate: day(0), promises: [{ statedDate: day(0), promisedDate: day(459) }] }),
      day(0),
    );
    expect(far.p50Date! > day(459)).toBe(true);
  });

  it('leaves a date far sooner than usual beside what is usual, and nothing between the two', () => {
    const slow = learnArrivals(
      steady(20, 'Norrtull', 45).map((line) => ({
        ...line,
        promises: [{ statedDate: line.orderedDate, promisedDate: isoDay(dayNumber(line.orderedDate) + 36) }],
      })),
      day(0),
    );
    const line = outstanding({
      supplierId: 'Norrtull',
      orderedDate: day(0),
      promises: [{ statedDate: day(0), promisedDate: day(5) }],
    });
    const forecast = forecastArrival(slow, line, day(0));
    // Its dates have been passed by a quarter and no more, so the near one is the likelier; but some chance stays with 45 days.
    expect(dayNumber(forecast.p50Date!) - 20_000).toBeLessThanOrEqual(8);
    expect(probabilityByDate(forecast, day(30)) - probabilityByDate(forecast, day(12))).toBeLessThan(0.01);
    expect(probabilityByDate(forecast, day(40))).toBeLessThan(0.96);
    expect(probabilityByDate(forecast, day(50))).toBeGreaterThan(0.98);
    expect(forecast.reasons.join(' ')).toContain('far before what ordinary lead times give');
  });

  it('lets a promise long past lose its say to the other guide', () => {
    const line = outstanding({ orderedDate: day(-60), promises: [{ statedDate: day(-60), promisedDate: day(-52) }] });
    const forecast = forecastArrival(model, line, day(0));
    expect(forecast.reasons.join(' ')).toContain('that day has passed');
    expect(dayNumber(forecast.p50Date!)).toBeGreaterThan(20_000);
  });

  it('waits longer for a withdrawn promise than for a dated one', () => {
    const base = { orderedDate: day(-10) };
    const dated = forecastArrival(
      model,
      outstanding({ ...base, promises: [{ statedDate: day(-3), promisedDate: day(2) }] }),
      day(0),
    );
    const none = forecastArrival(
      model,
      outstanding({
        ...base,
        promises: [
          { statedDate: day(-10), promisedDate: day(-2) },
          { statedDate: day(-3), promisedDate: null },
        ],
      }),
      day(0),
    );
    expect(dayNumber(none.p50Date!)).toBeGreaterThan(dayNumber(dated.p50Date!));
    expect(none.parts.map((p) => p.kind)).toEqual(['history', 'backOrder']);
  });

  it('uses lines still out rather than dropping them', () => {
    const slow = Array.from({ length: 6 }, (_, k) => outstanding({ id: `slow-${k}`, orderedDate: day(-45) }));
    const withSlow = learnArrivals([...steady(6), ...slow], day(0));
    const without = learnArrivals(steady(6), day(0));
    const ask = outstanding({ orderedDate: day(0) });
    expect(dayNumber(forecastArrival(withSlow, ask, day(0)).p50Date!)).toBeGreaterThan(
      dayNumber(forecastArrival(without, ask, day(0)).p50Date!),
    );
  });

  it('does not use a line to forecast itself', () => {
    const line = outstanding({ orderedDate: day(-30) });
    const alone = forecastArrival(learnArrivals(steady(6), day(0)), line, day(0));
    const among = forecastArrival(learnArrivals([...steady(6), line], day(0)), line, day(0));
    expect(among.parts[0]!.outstanding).toBe(0);
    expect(Math.abs(dayNumber(among.p50Date!) - dayNumber(alone.p50Date!))).toBeLessThanOrEqual(1);
  });

  it('pools: a supplier never used for belts learns from what it did with others', () => {
    const shop = [...steady(10), ...steady(10, 'Norrtull', 40)].map((line) => ({ ...line, promises: [] }));
    const pooled = learnArrivals(shop, day(0));
    const ask = (supplierId: string) =>
      dayNumber(
        forecastArrival(pooled, outstanding({ supplierId, family: 'shear pin', orderedDate: day(0) }), day(0)).p50Date!,
      );
    expect(ask('Norrtull')).toBeGreaterThan(ask('Eastgate'));
    expect(ask('Newcomer')).toBeGreaterThan(ask('Eastgate'));
    expect(ask('Newcomer')).toBeLessThan(ask('Norrtull'));
  });

  it('counts a quote from before the order as given with the order', () => {
    const at = (n: number) =>
      forecastArrival(model, outstanding({ promises: [{ statedDate: day(n), promisedDate: day(9) }] }), day(0));
    expect(at(-30)).toEqual(at(-5));
  });

  it('ignores what became known only later', () => {
    const later = steady(10).map((line) => ({
      ...line,
      id: `l${line.id}`,
      orderedDate: day(5),
      receivedDate: day(90),
      promises: [],
    }));
    const then = learnArrivals([...steady(5), ...later], day(0));
    const now = learnArrivals(steady(5), day(0));
    const ask = outstanding({ orderedDate: day(0) });
    expect(forecastArrival(then, ask, day(0))).toEqual(forecastArrival(now, ask, day(0)));
  });
});

describe('properties', () => {
  const lines = fc
    .array(
      fc.record({
        supplierId: fc.constantFrom('A', 'B', 'C'),
        family: fc.constantFrom('belt', 'carburettor'),
        ordered: fc.integer({ min: -300, max: 0 }),
        took: fc.option(fc.integer({ min: 0, max: 200 })),
        promise: fc.option(fc.integer({ min: 0, max: 60 })),
      }),
      { maxLength: 25 },
    )
    .map((rows) =>
      rows.map((row, k): ArrivalLine => ({
        id: `h${k}`,
        supplierId: row.supplierId,
        family: row.family,
        orderedDate: day(row.ordered),
        receivedDate: row.took === null ? null : day(row.ordered + row.took),
        promises:
          row.promise === null ? [] : [{ statedDate: day(row.ordered), promisedDate: day(row.ordered + row.promise) }],
      })),
    );
  const open = fc
    .record({
      waited: fc.integer({ min: 0, max: 2000 }),
      promise: fc.option(
        fc.record({
          at: fc.double({ min: 0, max: 1, noNaN: true }),
          days: fc.option(fc.integer({ min: 0, max: 400 })),
        }),
      ),
      supplierId: fc.constantFrom('A', 'Z'),
    })
    .map(({ waited, promise, supplierId }): ArrivalLine => {
      const stated = promise ? -waited + Math.floor(promise.at * waited) : 0;
      return outstanding({
        supplierId,
        orderedDate: day(-waited),
        promises: promise
          ? [{ statedDate: day(stated), promisedDate: promise.days === null ? null : day(stated + promise.days) }]
          : [],
      });
    });

  it('no forecast grows earlier because a date was taken back, whatever the supplier’s record', () => {
    const word = fc.record({
      waited: fc.integer({ min: 1, max: 200 }),
      at: fc.double({ min: 0, max: 1, noNaN: true }),
      days: fc.integer({ min: 0, max: 120 }),
    });
    // Suppliers with good and with poor records, each with lines of which the date was taken back too.
    const records = fc
      .tuple(lines, fc.integer({ min: 0, max: 6 }), fc.integer({ min: 0, max: 90 }))
      .map(([history, count, late]) => [
        ...history,
        ...Array.from({ length: count }, (_, k): ArrivalLine => ({
          id: `w${k}`,
          supplierId: 'A',
          family: 'belt',
          orderedDate: day(-300 + k),
          receivedDate: day(-280 + k + late),
          promises: [
            { statedDate: day(-300 + k), promisedDate: day(-290 + k) },
            { statedDate: day(-285 + k), promisedDate: null },
          ].slice(0, late < 5 ? 1 : 2),
        })),
      ]);
    fc.assert(
      fc.property(records, word, fc.constantFrom('A', 'Z'), (history, { waited, at, days }, supplierId) => {
        const stated = -waited + Math.floor(at * waited);
        const promise = { statedDate: day(stated), promisedDate: day(stated + days) };
        const status = outstanding({ supplierId, orderedDate: day(-waited), promises: [promise] });
        const withdrawn = { ...status, promises: [promise, { statedDate: day(0), promisedDate: null }] };
        // Each learnt with the line as it stands, as a shop's records do.
        const before = forecastArrival(learnArrivals([...history, status], day(0)), status, day(0));
        const after = forecastArrival(learnArrivals([...history, withdrawn], day(0)), withdrawn, day(0));
        after.probabilityByOffset.forEach((probability, k) =>
          expect(probability).toBeLessThanOrEqual((before.probabilityByOffset[k] ?? 1) + 1e-9),
        );
        for (const p of ['p50Date', 'p80Date', 'p95Date'] as const)
          expect((after[p] ?? '9') >= (before[p] ?? '9')).toBe(true);
        expect(after.probabilityBeyondHorizon).toBeGreaterThanOrEqual(before.probabilityBeyondHorizon - 1e-9);
      }),
      { numRuns: 60 },
    );
  });

  it('no forecast lies in the past, chances rise to at most one, and sampling inverts them', () => {
    fc.assert(
      fc.property(lines, open, fc.double({ min: 0, max: 0.999, noNaN: true }), (history, line, u) => {
        const forecast = forecastArrival(learnArrivals(history, day(0)), line, day(0));
        for (const p of [forecast.p50Date, forecast.p80Date, forecast.p95Date, arrivalQuantile(forecast, 0.001)]) {
          if (p !== null) expect(p >= day(0)).toBe(true);
        }
        const falls = forecast.probabilityByOffset.some((now, k, all) => now < (all[k - 1] ?? 0) || now > 1);
        expect(falls).toBe(false);
        expect(forecast.probabilityByOffset.at(-1)! + forecast.probabilityBeyondHorizon).toBeCloseTo(1, 6);
        expect(forecast.parts.reduce((sum, part) => sum + part.share, 0)).toBeCloseTo(1, 9);
        const k = sampleArrivalOffset(forecast, u);
        if (k < forecast.probabilityByOffset.length) {
          expect(probabilityByDate(forecast, day(k))).toBeGreaterThanOrEqual(u);
          if (k > 0) expect(probabilityByDate(forecast, day(k - 1))).toBeLessThan(u);
        }
      }),
      { numRuns: 150 },
    );
  });
});

describe('refusals say what and where', () => {
  const model = learnArrivals([], day(0));
  it.each([
    [{ orderedDate: '2024-02-30' }, 'not a day'],
    [{ receivedDate: day(-9) }, 'received before it was ordered'],
    [{ receivedDate: day(-1) }, 'no longer waits'],
    [{ cancelledDate: day(-1) }, 'no longer waits'],
    [{ orderedDate: day(3) }, 'not ordered before'],
    [{ promises: [{ statedDate: day(-2), promisedDate: day(-3) }] }, 'before the promise was made'],
  ])('%j', (change, message) => {
    expect(() => forecastArrival(model, outstanding(change), day(0))).toThrow(message);
  });

  it('a line given twice', () => {
    expect(() => learnArrivals([outstanding(), outstanding()], day(0))).toThrow('given twice');
  });
});
