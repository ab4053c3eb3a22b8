import { describe, expect, test } from '@jest/globals';
import { Formatter, inWords, list, plural } from './format.js';
import { readQuantity, sentenceInUnits, showQuantity } from './units.js';

const plain = (text: string) => text.replaceAll('\u00a0', ' ');
const at = (manner: Partial<ConstructorParameters<typeof Formatter>[0]> = {}, now = '2026-11-25T15:00:00Z') =>
  new Formatter({ currency: 'CAD', timeZone: 'America/Toronto', unitSystem: 'metric', ...manner }, new Date(now));

describe('as people say it', () => {
  test('spans of work and of waiting', () => {
    const say = at();
    expect([0, 35, 60, 110, 65, 725].map((minutes) => plain(say.work(minutes)))).toEqual([
      '0 min',
      '35 min',
      '1 h',
      '1 h 50',
      '1 h 05',
      '12 h',
    ]);
    expect([1, 15, 300, 6 * 1440, 21 * 1440, 120 * 1440].map((minutes) => plain(say.wait(minutes)))).toEqual([
      '1 minute',
      '15 minutes',
      'about 5 hours',
      'about 6 days',
      'about 3 weeks',
      'about 4 months',
    ]);
  });

  test('days by the shop’s calendar, with the year only where it is needed', () => {
    const say = at();
    expect(
      ['2026-11-24', '2026-11-25', '2026-11-26', '2026-11-30', '2026-12-19', '2027-02-09', '2028-02-09'].map((date) =>
        plain(say.day(date)),
      ),
    ).toEqual(['yesterday', 'today', 'tomorrow', 'Monday', '19 December', '9 February', '9 February 2028']);
  });

  test('moments in the shop’s zone and not in that of the machine it runs on', () => {
    // 00:40 UTC on the 26th is still the evening of the 25th in Toronto (UTC−5 in November).
    expect(plain(at().moment('2026-11-26T00:40:00Z'))).toBe('7:40 pm');
    expect(plain(at().moment('2026-11-26T20:00:00Z'))).toBe('tomorrow 3 pm');
    expect(plain(at({ timeZone: 'Europe/Oslo' }).moment('2026-11-26T00:40:00Z'))).toBe('tomorrow 1:40 am');
  });

  test('chances in tenths, and no certainty that is none', () => {
    const say = at();
    expect([0, 0.03, 0.34, 0.84, 0.97, 0.999].map((chance) => say.chance(chance))).toEqual([
      'hardly any chance',
      'less than 1 in 20',
      '3 in 10',
      '8 in 10',
      'more than 19 in 20',
      'almost certain',
    ]);
  });

  test('money by its currency, decimals only where there are any', () => {
    expect(at().money('1240.00')).toBe('$1,240');
    expect(at().money('59.70')).toBe('$59.70');
    expect(at({ currency: 'JPY' }).money('1240')).toBe('¥1,240');
    expect(at().about('393.22')).toBe('about $390');
    // Beyond what a floating-point number holds.
    expect(at().money('99999999999.99')).toBe('$99,999,999,999.99');
  });

  test('counts and lists', () => {
    expect(plain(plural(1, 'bolt'))).toBe('1 bolt');
    expect(plain(plural(3, 'box', 'boxes'))).toBe('3 boxes');
    expect([inWords(0), inWords(3), inWords(40)]).toEqual(['no', 'three', '40']);
    expect(list(['a', 'b', 'c'])).toBe('a, b and c');
  });
});

describe('units of the shop', () => {
  // NIST SP 811 (2008), appendix B: 1 in = 25.4 mm, 1 mi = 1.609344 km, 1 US liquid pint = 0.473176473 L, t/°F = 1.8 t/°C + 32.
  test.each([
    ['temperature', 10, '50 °F'],
    ['temperature', -40, '-40 °F'],
    ['length', 25.4, '1 in'],
    ['distance', 16.09344, '10 mi'],
    ['volume', 0.946352946, '2 pt'],
    ['film', 25.4, '1 mil'],
  ] as const)('%s %d reads %s', (quantity, stored, shown) => {
    expect(plain(showQuantity('imperial', quantity, stored))).toBe(shown);
    expect(readQuantity('imperial', quantity, shown)).toBeCloseTo(stored, 5);
  });

  test('reads a decimal comma, a minus sign and no unit; refuses words', () => {
    expect(readQuantity('metric', 'temperature', '−4,5 °C')).toBe(-4.5);
    expect(readQuantity('metric', 'temperature', '12')).toBe(12);
    expect(readQuantity('metric', 'temperature', 'warm')).toBeUndefined();
  });

  test('sentences of the service follow, designations of fasteners do not', () => {
    expect(plain(sentenceInUnits('imperial', 'It must stay above 10 °C; 14 km away; M8 x 40 mm stays.'))).toBe(
      'It must stay above 50 °F; 8.7 mi away; M8 x 40 mm stays.',
    );
    expect(plain(sentenceInUnits('imperial', 'the steel 3 °C above the dew point'))).toBe(
      'the steel 5 °F above the dew point',
    );
    expect(plain(at({ unitSystem: 'imperial' }).sentence('Weather until 2026-12-19, 8 °C or more.'))).toBe(
      'Weather until 19 December, 46 °F or more.',
    );
  });
});
