import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { dayNumber, isoDay } from '../days.js';
import {
  type ArrivalLine,
  arrivalQuantile,
  chanceByDay,
  forecastArrival,
  learnArrivals,
  sampleArrivalOffset,
} from './index.js';

const day = (n: number) => isoDay(20_000 + n);

/** A supplier that takes about ten days and promises eight. */
function steady(count: number, supplierId = 'Eastgate', days = 10): ArrivalLine[] {
  return Array.from({ length: count }, (_, k) => ({
    id: `${supplierId}-${k}`,
    supplierId,
    family: 'belt',
    orderedOn: day(-400 + 7 * k),
    receivedOn: day(-400 + 7 * k + days + (k % 3) - 1),
    promises: [{ statedOn: day(-400 + 7 * k), promisedDay: day(-400 + 7 * k + 8) }],
  }));
}

const outstanding = (line: Partial<ArrivalLine> = {}): ArrivalLine => ({
  id: 'open',
  supplierId: 'Eastgate',
  family: 'belt',
  orderedOn: day(-5),
  ...line,
});

describe('a shop with no history', () => {
  it('answers from the stated prior and says so', () => {
    const forecast = forecastArrival(learnArrivals([], day(0)), outstanding({ orderedOn: day(0) }), day(0));
    // The stated prior: about 8 days, a day's arrival counting to that day's end.
    expect(dayNumber(forecast.p50Day!) - 20_000).toBeGreaterThanOrEqual(7);
    expect(dayNumber(forecast.p50Day!) - 20_000).toBeLessThanOrEqual(8);
    expect(forecast.why[0]).toContain('no receipts of its own yet');
    expect(forecast.parts).toEqual([{ kind: 'history', share: 1, receipts: 0, outstanding: 0 }]);
  });
});

describe('history, promises and waiting', () => {
  const model = learnArrivals(steady(20), day(0));

  it('learns the supplier and narrows with receipts', () => {
    const few = forecastArrival(learnArrivals(steady(3), day(0)), outstanding({ orderedOn: day(0) }), day(0));
    const many = forecastArrival(model, outstanding({ orderedOn: day(0) }), day(0));
    expect(Math.abs(dayNumber(many.p50Day!) - 20_010)).toBeLessThanOrEqual(1);
    expect(dayNumber(many.p95Day!) - dayNumber(many.p50Day!)).toBeLessThan(
      dayNumber(few.p95Day!) - dayNumber(few.p50Day!),
    );
  });

  it('takes a promise for what the supplier’s promises have been worth', () => {
    // Eight days promised have meant ten: a promise of 20 days is read as about 25.
    const forecast = forecastArrival(
      model,
      outstanding({ orderedOn: day(0), promises: [{ statedOn: day(0), promisedDay: day(20) }] }),
      day(0),
    );
    const promise = forecast.parts.find((p) => p.kind === 'promise')!;
    expect(promise.receipts).toBe(20);
    expect(promise.share).toBeGreaterThan(0.5);
    expect(forecast.why.join(' ')).toContain('1.2 times the time it names');
  });

  it.each([40, 56, 120, 459])('takes a date %d days off, far beyond ordinary lead times, for what it is', (named) => {
    // Eight days promised have meant ten, so a date is passed by (10 + ½) / (8 + ½) = 1.24. A weighted mean of the logs would
    // say far less: that these goods, too, are half-way to ten days.
    const line = outstanding({ orderedOn: day(0), promises: [{ statedOn: day(0), promisedDay: day(named) }] });
    const forecast = forecastArrival(model, line, day(0));
    expect(dayNumber(forecast.p50Day!) - 20_000).toBeGreaterThan(1.17 * named);
    expect(dayNumber(forecast.p50Day!) - 20_000).toBeLessThan(1.31 * named);
    expect(forecast.parts.find(({ kind }) => kind === 'history')!.share).toBeLessThan(0.02);
    expect(forecast.why.join(' ')).toContain('far beyond ordinary lead times, as for goods that are not in stock');
    // Taken back, that date makes nothing come sooner.
    const back = {
      ...line,
      orderedOn: day(-3),
      promises: [
        { statedOn: day(-3), promisedDay: day(named) },
        { statedOn: day(0), promisedDay: null },
      ],
    };
    const standing = { ...back, promises: back.promises.slice(0, 1) };
    expect(forecastArrival(model, back, day(0)).p50Day! >= forecastArrival(model, standing, day(0)).p50Day!).toBe(true);
  });

  it('lets a young shop move towards a far date too, as little as it knows', () => {
    const far = forecastArrival(
      learnArrivals(steady(3), day(0)),
      outstanding({ orderedOn: day(0), promises: [{ statedOn: day(0), promisedDay: day(56) }] }),
      day(0),
    );
    expect(dayNumber(far.p50Day!) - 20_000).toBeGreaterThan(56);
  });

  it('does not take a far date for an ordinary one because a promise or two slipped badly', () => {
    // Ten days named, then none, and 27 taken; five named and seven taken: far dates must not seem mere slips of the tongue.
    const slipped: ArrivalLine[] = [
      {
        id: 'a',
        supplierId: 'Other',
        family: 'fastener',
        orderedOn: day(-27),
        receivedOn: day(0),
        promises: [
          { statedOn: day(-27), promisedDay: day(-17) },
          { statedOn: day(-15), promisedDay: null },
        ],
      },
      {
        id: 'b',
        supplierId: 'Other',
        family: 'belt',
        orderedOn: day(-27),
        receivedOn: day(-20),
        promises: [{ statedOn: day(-27), promisedDay: day(-22) }],
      },
    ];
    const far = forecastArrival(
      learnArrivals(slipped, day(0)),
      outstanding({ orderedOn: day(0), promises: [{ statedOn: day(0), promisedDay: day(459) }] }),
      day(0),
    );
    expect(far.p50Day! > day(459)).toBe(true);
  });

  it('leaves a date far sooner than usual beside what is usual, and nothing between the two', () => {
    const slow = learnArrivals(
      steady(20, 'Norrtull', 45).map((line) => ({
        ...line,
        promises: [{ statedOn: line.orderedOn, promisedDay: isoDay(dayNumber(line.orderedOn) + 36) }],
      })),
      day(0),
    );
    const line = outstanding({
      supplierId: 'Norrtull',
      orderedOn: day(0),
      promises: [{ statedOn: day(0), promisedDay: day(5) }],
    });
    const forecast = forecastArrival(slow, line, day(0));
    // Its dates have been passed by a quarter and no more, so the near one is the likelier; but some chance stays with 45 days.
    expect(dayNumber(forecast.p50Day!) - 20_000).toBeLessThanOrEqual(8);
    expect(chanceByDay(forecast, day(30)) - chanceByDay(forecast, day(12))).toBeLessThan(0.01);
    expect(chanceByDay(forecast, day(40))).toBeLessThan(0.96);
    expect(chanceByDay(forecast, day(50))).toBeGreaterThan(0.98);
    expect(forecast.why.join(' ')).toContain('far before what ordinary lead times give');
  });

  it('lets a promise long past lose its say to the other guide', () => {
    const line = outstanding({ orderedOn: day(-60), promises: [{ statedOn: day(-60), promisedDay: day(-52) }] });
    const forecast = forecastArrival(model, line, day(0));
    expect(forecast.why.join(' ')).toContain('that day has passed');
    expect(dayNumber(forecast.p50Day!)).toBeGreaterThan(20_000);
  });

  it('waits longer for a withdrawn promise than for a dated one', () => {
    const base = { orderedOn: day(-10) };
    const dated = forecastArrival(
      model,
      outstanding({ ...base, promises: [{ statedOn: day(-3), promisedDay: day(2) }] }),
      day(0),
    );
    const none = forecastArrival(
      model,
      outstanding({
        ...base,
        promises: [
          { statedOn: day(-10), promisedDay: day(-2) },
          { statedOn: day(-3), promisedDay: null },
        ],
      }),
      day(0),
    );
    expect(dayNumber(none.p50Day!)).toBeGreaterThan(dayNumber(dated.p50Day!));
    expect(none.parts.map((p) => p.kind)).toEqual(['history', 'backOrder']);
  });

  it('uses lines still out rather than dropping them', () => {
    const slow = Array.from({ length: 6 }, (_, k) => outstanding({ id: `slow-${k}`, orderedOn: day(-45) }));
    const withSlow = learnArrivals([...steady(6), ...slow], day(0));
    const without = learnArrivals(steady(6), day(0));
    const ask = outstanding({ orderedOn: day(0) });
    expect(dayNumber(forecastArrival(withSlow, ask, day(0)).p50Day!)).toBeGreaterThan(
      dayNumber(forecastArrival(without, ask, day(0)).p50Day!),
    );
  });

  it('does not use a line to forecast itself', () => {
    const line = outstanding({ orderedOn: day(-30) });
    const alone = forecastArrival(learnArrivals(steady(6), day(0)), line, day(0));
    const among = forecastArrival(learnArrivals([...steady(6), line], day(0)), line, day(0));
    expect(among.parts[0]!.outstanding).toBe(0);
    expect(Math.abs(dayNumber(among.p50Day!) - dayNumber(alone.p50Day!))).toBeLessThanOrEqual(1);
  });

  it('pools: a supplier never used for belts learns from what it did with others', () => {
    const shop = [...steady(10), ...steady(10, 'Norrtull', 40)].map((line) => ({ ...line, promises: [] }));
    const pooled = learnArrivals(shop, day(0));
    const ask = (supplierId: string) =>
      dayNumber(
        forecastArrival(pooled, outstanding({ supplierId, family: 'shear pin', orderedOn: day(0) }), day(0)).p50Day!,
      );
    expect(ask('Norrtull')).toBeGreaterThan(ask('Eastgate'));
    expect(ask('Newcomer')).toBeGreaterThan(ask('Eastgate'));
    expect(ask('Newcomer')).toBeLessThan(ask('Norrtull'));
  });

  it('counts a quote from before the order as given with the order', () => {
    const at = (n: number) =>
      forecastArrival(model, outstanding({ promises: [{ statedOn: day(n), promisedDay: day(9) }] }), day(0));
    expect(at(-30)).toEqual(at(-5));
  });

  it('ignores what became known only later', () => {
    const later = steady(10).map((line) => ({
      ...line,
      id: `l${line.id}`,
      orderedOn: day(5),
      receivedOn: day(90),
      promises: [],
    }));
    const then = learnArrivals([...steady(5), ...later], day(0));
    const now = learnArrivals(steady(5), day(0));
    const ask = outstanding({ orderedOn: day(0) });
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
        orderedOn: day(row.ordered),
        receivedOn: row.took === null ? null : day(row.ordered + row.took),
        promises:
          row.promise === null ? [] : [{ statedOn: day(row.ordered), promisedDay: day(row.ordered + row.promise) }],
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
        orderedOn: day(-waited),
        promises: promise
          ? [{ statedOn: day(stated), promisedDay: promise.days === null ? null : day(stated + promise.days) }]
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
          orderedOn: day(-300 + k),
          receivedOn: day(-280 + k + late),
          promises: [
            { statedOn: day(-300 + k), promisedDay: day(-290 + k) },
            { statedOn: day(-285 + k), promisedDay: null },
          ].slice(0, late < 5 ? 1 : 2),
        })),
      ]);
    fc.assert(
      fc.property(records, word, fc.constantFrom('A', 'Z'), (history, { waited, at, days }, supplierId) => {
        const stated = -waited + Math.floor(at * waited);
        const promise = { statedOn: day(stated), promisedDay: day(stated + days) };
        const standing = outstanding({ supplierId, orderedOn: day(-waited), promises: [promise] });
        const withdrawn = { ...standing, promises: [promise, { statedOn: day(0), promisedDay: null }] };
        // Each learnt with the line as it stands, as a shop's records do.
        const before = forecastArrival(learnArrivals([...history, standing], day(0)), standing, day(0));
        const after = forecastArrival(learnArrivals([...history, withdrawn], day(0)), withdrawn, day(0));
        after.chanceByOffset.forEach((chance, k) =>
          expect(chance).toBeLessThanOrEqual((before.chanceByOffset[k] ?? 1) + 1e-9),
        );
        for (const p of ['p50Day', 'p80Day', 'p95Day'] as const)
          expect((after[p] ?? '9') >= (before[p] ?? '9')).toBe(true);
        expect(after.chanceBeyondHorizon).toBeGreaterThanOrEqual(before.chanceBeyondHorizon - 1e-9);
      }),
      { numRuns: 60 },
    );
  });

  it('no forecast lies in the past, chances rise to at most one, and sampling inverts them', () => {
    fc.assert(
      fc.property(lines, open, fc.double({ min: 0, max: 0.999, noNaN: true }), (history, line, u) => {
        const forecast = forecastArrival(learnArrivals(history, day(0)), line, day(0));
        for (const p of [forecast.p50Day, forecast.p80Day, forecast.p95Day, arrivalQuantile(forecast, 0.001)]) {
          if (p !== null) expect(p >= day(0)).toBe(true);
        }
        const falls = forecast.chanceByOffset.some((now, k, all) => now < (all[k - 1] ?? 0) || now > 1);
        expect(falls).toBe(false);
        expect(forecast.chanceByOffset.at(-1)! + forecast.chanceBeyondHorizon).toBeCloseTo(1, 6);
        expect(forecast.parts.reduce((sum, part) => sum + part.share, 0)).toBeCloseTo(1, 9);
        const k = sampleArrivalOffset(forecast, u);
        if (k < forecast.chanceByOffset.length) {
          expect(chanceByDay(forecast, day(k))).toBeGreaterThanOrEqual(u);
          if (k > 0) expect(chanceByDay(forecast, day(k - 1))).toBeLessThan(u);
        }
      }),
      { numRuns: 150 },
    );
  });
});

describe('refusals say what and where', () => {
  const model = learnArrivals([], day(0));
  it.each([
    [{ orderedOn: '2024-02-30' }, 'not a day'],
    [{ receivedOn: day(-9) }, 'received before it was ordered'],
    [{ receivedOn: day(-1) }, 'no longer waits'],
    [{ cancelledOn: day(-1) }, 'no longer waits'],
    [{ orderedOn: day(3) }, 'not ordered before'],
    [{ promises: [{ statedOn: day(-2), promisedDay: day(-3) }] }, 'before the promise was made'],
  ])('%j', (change, message) => {
    expect(() => forecastArrival(model, outstanding(change), day(0))).toThrow(message);
  });

  it('a line given twice', () => {
    expect(() => learnArrivals([outstanding(), outstanding()], day(0))).toThrow('given twice');
  });
});
