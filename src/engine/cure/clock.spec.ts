/** Maturity and equivalent age as published for concrete, whose arithmetic a coat's clock shares; check values section 2.3. */
import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { coatAge, minuteOfAge } from './clock.js';
import { constantCourse, joinCourses, type TemperatureSpan } from './course.js';
import {
  clockRate,
  dryingRate,
  type DryingSheet,
  stagesOf,
  type TemperatureSensitivity,
  validateSheet,
} from './product.js';
import { primer } from './sheet.fixture.js';

const HOUR = 60;
const DAY = 1440;
const wide = (sensitivity: TemperatureSensitivity, referenceCelsius: number): DryingSheet => ({
  ...primer,
  minCelsius: -40,
  maxCelsius: 90,
  sensitivity,
  referenceCelsius,
});
/** R, so that Ea = Q·R. */
const gas = 8.31446261815324 / 1000;

describe('maturity after Nurse and Saul', () => {
  it('is 728 °C·d for 28 days at 15 °C above −11 °C', () => {
    // civinnovate.com Q9; 112 would be a slip of sign.
    const sheet = wide({ datumCelsius: -11 }, 20);
    const days = coatAge(sheet, constantCourse(15, 0, 28 * DAY), 0, 28 * DAY).equivalentMinutes / DAY;
    expect(days * (20 + 11)).toBeCloseTo(728, 9);
  });

  it('needs 152 h at 23 °C for 3500 °C·h, or 49 °C to be there in 72 h', () => {
    // engius.com, "A little maturity math"
    const sheet = wide({ datumCelsius: 0 }, 20);
    const target = (3500 / 20) * HOUR;
    expect(minuteOfAge(sheet, constantCourse(23, 0, 400 * HOUR), 0, target)! / HOUR).toBeCloseTo(152.17, 2);
    expect(minuteOfAge(sheet, constantCourse(3500 / 72, 0, 400 * HOUR), 0, target)! / HOUR).toBeCloseTo(72, 9);
    expect(Math.round(3500 / 72)).toBe(49);
  });

  it('takes nothing from below the datum', () => {
    // rpxtech.com maturity formula
    expect(dryingRate({ datumCelsius: 0 }, -5, 20)).toBe(0);
  });

  it('is 780 and 1260 °C·h for 12 h at 25, 12 h at 10 and 24 h at 15 °C', () => {
    const course = [
      [0, 12, 25],
      [12, 24, 10],
      [24, 48, 15],
    ].map(([from, to, celsius]) => ({ fromMinute: from! * HOUR, toMinute: to! * HOUR, celsius: celsius! }));
    for (const [datum, expected] of [
      [0, 780],
      [-10, 1260],
    ] as const) {
      expect(
        (coatAge(wide({ datumCelsius: datum }, 20), course, 0, 48 * HOUR).equivalentMinutes / HOUR) * (20 - datum),
      ).toBeCloseTo(expected, 9);
    }
    // Equivalent age with Q = 5000 K: computed from the formula, not published.
    for (const [reference, expected] of [
      [23, 33.986],
      [20, 40.395],
    ] as const) {
      expect(
        coatAge(wide({ activationKilojoulesPerMole: 5000 * gas }, reference), course, 0, 48 * HOUR).equivalentMinutes /
          HOUR,
      ).toBeCloseTo(expected, 3);
    }
  });
});

describe('rates', () => {
  it('are those of ASTM C1074 with Q = 5000 K at 23 °C', () => {
    for (const [celsius, expected] of [
      [5, 0.3354],
      [10, 0.4606],
      [15, 0.6258],
      [20, 0.8413],
      [25, 1.1199],
      [30, 1.4768],
      [40, 2.5006],
    ] as const) {
      expect(dryingRate({ activationKilojoulesPerMole: 5000 * gas }, celsius, 23)).toBeCloseTo(expected, 4);
    }
  });

  it('are those of EN 1992-1-1 (B.10), which rounds its constants, to a fifth of a per cent', () => {
    for (const [celsius, expected] of [
      [5, 0.4778],
      [10, 0.6161],
      [15, 0.7875],
      [20, 0.9981],
      [25, 1.2551],
      [30, 1.5662],
      [40, 2.388],
    ] as const) {
      const rate = dryingRate({ activationKilojoulesPerMole: 4000 * gas }, celsius, 20);
      expect(Math.abs(rate / expected - 1)).toBeLessThan(0.003);
    }
  });

  it('double over 10 °C with 49.51 kJ/mol from 15 and 51.22 kJ/mol from 20 °C', () => {
    expect(dryingRate({ activationKilojoulesPerMole: 49.51 }, 25, 15)).toBeCloseTo(2, 3);
    expect(dryingRate({ activationKilojoulesPerMole: 51.22 }, 30, 20)).toBeCloseTo(2, 3);
  });

  it('turn 8 h at 25 °C into 4, 11.31, 16, 22.63 and 32 h, doubling each 10 °C', () => {
    const sheet = wide({ rateDoublingCelsius: 10 }, 25);
    for (const [celsius, hours] of [
      [35, 4],
      [20, 11.31],
      [15, 16],
      [10, 22.63],
      [5, 32],
    ] as const) {
      expect(minuteOfAge(sheet, constantCourse(celsius, 0, 99 * HOUR), 0, 8 * HOUR)! / HOUR).toBeCloseTo(hours, 2);
    }
  });

  it('are none below the least temperature, and those of the most above it', () => {
    expect([4.9, 5, 35, 60].map((celsius) => clockRate(primer, celsius))).toEqual([0, 2 ** -1.5, 2 ** 1.5, 2 ** 1.5]);
  });
});

describe("a coat's age", () => {
  it('tells what was too cold, too hot and unknown', () => {
    const course = [
      { fromMinute: 0, toMinute: 60, celsius: 2 },
      { fromMinute: 120, toMinute: 180, celsius: 20 },
      { fromMinute: 180, toMinute: 240, celsius: 45 },
    ];
    const age = coatAge(primer, course, 0, 240);
    expect(age).toMatchObject({ elapsedMinutes: 240, tooColdMinutes: 60, tooHotMinutes: 60, unknownMinutes: 60 });
    expect(age.equivalentMinutes).toBeCloseTo(60 + 60 * 2 ** 1.5, 9);
    // A window runs out as at the least while it is too cold, and as at the most while nothing is known.
    expect(age.closingMinutes).toBeCloseTo(60 * 2 ** -1.5 + 60 + 2 * 60 * 2 ** 1.5, 9);
  });

  it('is nothing before it was applied', () => {
    expect(coatAge(primer, constantCourse(20, 0, 999), 500, 400)).toMatchObject({
      equivalentMinutes: 0,
      elapsedMinutes: 0,
      unknownMinutes: 0,
    });
    expect(minuteOfAge(primer, constantCourse(20, 0, 999), 500, 120)).toBe(620);
    expect(minuteOfAge(primer, constantCourse(20, 0, 999), 500, 600)).toBeUndefined();
    expect(minuteOfAge(primer, constantCourse(20, 0, 999), 500, 0)).toBe(500);
  });
});

const sensitivity = fc.oneof(
  fc.record({ rateDoublingCelsius: fc.double({ min: 2, max: 40, noNaN: true }) }),
  fc.record({ activationKilojoulesPerMole: fc.double({ min: 10, max: 150, noNaN: true }) }),
  fc.record({ datumCelsius: fc.double({ min: -30, max: -10, noNaN: true }) }),
);
const sheets = fc
  .record({ sensitivity, referenceCelsius: fc.integer({ min: 10, max: 30 }) })
  .map((some) => ({ ...primer, ...some }));
const courses = fc.array(
  fc.record({
    minutes: fc.integer({ min: 1, max: 3000 }),
    celsius: fc.double({ min: -20, max: 50, noNaN: true }),
    gap: fc.boolean(),
  }),
  { minLength: 1, maxLength: 12 },
);
function spansOf(list: { minutes: number; celsius: number; gap: boolean }[], colder = 0): TemperatureSpan[] {
  let at = 0;
  return list.flatMap(({ minutes, celsius, gap }) => {
    const span = { fromMinute: at, toMinute: at + minutes, celsius: celsius - colder };
    at += minutes;
    return gap ? [] : [span];
  });
}

describe('whatever the sheet', () => {
  it('a constant reference temperature gives the very times of the sheet', () => {
    fc.assert(
      fc.property(sheets, fc.integer({ min: -5000, max: 5000 }), (sheet, applied) => {
        validateSheet(sheet);
        const course = constantCourse(sheet.referenceCelsius, applied - 10, applied + 20_000);
        for (const { minutes } of stagesOf(sheet)) {
          expect(minuteOfAge(sheet, course, applied, minutes)).toBe(applied + minutes);
          expect(coatAge(sheet, course, applied, applied + minutes)).toMatchObject({
            equivalentMinutes: minutes,
            closingMinutes: minutes,
            unknownMinutes: 0,
          });
        }
      }),
    );
  });

  it('colder is never sooner', () => {
    fc.assert(
      fc.property(
        sheets,
        courses,
        fc.double({ min: 0, max: 30, noNaN: true }),
        fc.integer({ min: 1, max: 4000 }),
        (sheet, list, colder, target) => {
          const warm = minuteOfAge(sheet, spansOf(list), 0, target) ?? Infinity;
          const cold = minuteOfAge(sheet, spansOf(list, colder), 0, target) ?? Infinity;
          expect(cold).toBeGreaterThanOrEqual(warm - 1e-6);
        },
      ),
    );
  });

  it('the moment of an age is when the coat has that age', () => {
    fc.assert(
      fc.property(sheets, courses, fc.integer({ min: 1, max: 4000 }), (sheet, list, target) => {
        const course = spansOf(list);
        const minute = minuteOfAge(sheet, course, 0, target);
        if (minute === undefined) expect(coatAge(sheet, course, 0, 1e6).equivalentMinutes).toBeLessThan(target + 1e-6);
        else expect(coatAge(sheet, course, 0, minute).equivalentMinutes).toBeCloseTo(target, 5);
      }),
    );
  });

  it('joining courses keeps what the first one knows and fills the rest from the second', () => {
    fc.assert(
      fc.property(courses, courses, fc.integer({ min: -2000, max: 2000 }), (a, b, shift) => {
        const known = spansOf(a);
        const filler = spansOf(b).map((span) => ({
          ...span,
          fromMinute: span.fromMinute + shift,
          toMinute: span.toMinute + shift,
        }));
        const joined = joinCourses([known, filler]);
        const at = (course: readonly TemperatureSpan[], minute: number) =>
          course.find((span) => span.fromMinute <= minute && minute < span.toMinute)?.celsius;
        const edges = [...known, ...filler].flatMap((span) => [
          span.fromMinute,
          span.toMinute,
          span.fromMinute - 0.5,
          span.toMinute - 0.5,
        ]);
        for (const minute of edges) expect(at(joined, minute)).toBe(at(known, minute) ?? at(filler, minute));
        joined.slice(1).forEach((span, k) => expect(span.fromMinute).toBeGreaterThanOrEqual(joined[k]!.toMinute));
      }),
    );
  });
});

describe('a sheet', () => {
  it.each([
    [{ minCelsius: 40 }, 'minCelsius'],
    [{ referenceCelsius: 50 }, 'referenceCelsius'],
    [{ handleMinutes: 60 }, 'handleMinutes'],
    [{ touchMinutes: 0 }, 'touchMinutes'],
    [{ sensitivity: { rateDoublingCelsius: 0 } }, 'sensitivity'],
    [{ sensitivity: { datumCelsius: 20 } }, 'sensitivity'],
    [{ recoatMinutes: [] }, 'recoatMinutes'],
    [{ recoatMinutes: [{ fromMinutes: 0 }, { fromMinutes: 60 }] }, 'recoatMinutes[1]'],
    [{ recoatMinutes: [{ fromMinutes: 60, toMinutes: 60 }] }, 'recoatMinutes[0].toMinutes'],
    [{ dryFilmMicrometres: 0 }, 'dryFilmMicrometres'],
  ] as [Partial<DryingSheet>, string][])('%j is refused', (change, path) => {
    expect(() => validateSheet({ ...primer, ...change })).toThrow(expect.objectContaining({ code: 'bad-sheet', path }));
  });
});
