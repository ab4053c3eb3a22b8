/** Psychrolib is the second opinion; published examples are from coating guides, whole degrees as they print them. */
import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
// @ts-expect-error the library brings no types
import psychrolib from 'psychrolib';
import { airCelsiusAtHumidity, dewPointCelsius, frostPointCelsius, relativeHumidityPercent } from './dew-point.js';

psychrolib.SetUnitSystem(psychrolib.SI);
const celsius = (fahrenheit: number): number => ((fahrenheit - 32) * 5) / 9;

describe('dew point', () => {
  it('is within 0.03 °C of psychrolib wherever it lies above 0 °C', () => {
    let validated = 0;
    let worst = 0;
    for (let air = 1; air <= 40; air += 1) {
      for (let humidity = 10; humidity <= 100; humidity += 5) {
        const expected = psychrolib.GetTDewPointFromRelHum(air, humidity / 100);
        if (expected < 0.01) continue;
        validated += 1;
        worst = Math.max(worst, Math.abs(dewPointCelsius(air, humidity) - expected));
      }
    }
    expect(validated).toBeGreaterThan(400);
    expect(worst).toBeLessThanOrEqual(0.03);
  });

  it('below 0 °C stays over water: up to 1.6 °C below the frost point, which follows psychrolib', () => {
    let gap = 0;
    for (let air = 0; air <= 5; air += 1) {
      for (let humidity = 30; humidity <= 95; humidity += 5) {
        const frost = psychrolib.GetTDewPointFromRelHum(air, humidity / 100);
        if (frost > -0.01) continue;
        expect(Math.abs(frostPointCelsius(air, humidity) - frost)).toBeLessThanOrEqual(0.03);
        const difference = frost - dewPointCelsius(air, humidity);
        expect(difference).toBeGreaterThan(0);
        gap = Math.max(gap, difference);
      }
    }
    expect(gap).toBeGreaterThan(1.4);
    expect(gap).toBeLessThan(1.8);
  });

  it.each([
    // check values section 2.2, each as its source prints it; charts round to whole degrees.
    ['handypdf dew-point chart', celsius(70), 65, celsius(57), 0.5],
    ['ranachem.com example', celsius(75), 35, celsius(45), 0.5],
    ['scribd 557686649 example 1', celsius(80), 50, celsius(59), 0.5],
    ['doerken.de glossary', 30, 55, 20, 0.05],
    ['scribd 146044552 worked example', 16, 71, 11, 0.5],
    ['samteplo.ru table', 10, 50, 0.08, 0.05],
    ['samteplo.ru table', 10, 60, 2.6, 0.05],
    ['samteplo.ru table', 10, 80, 6.71, 0.05],
    ['ISO 8502-4 annex A type table (recalled)', 20, 50, 9.3, 0.05],
  ])('%s: air %d °C at %d %%', (_source, air, humidity, published, tolerance) => {
    expect(Math.abs(dewPointCelsius(air, humidity) - published)).toBeLessThanOrEqual(tolerance);
  });

  it('goes back to the humidity it came from', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -40, max: 50, noNaN: true }),
        fc.double({ min: 1, max: 100, noNaN: true }),
        (air, humidity) => {
          const dew = dewPointCelsius(air, humidity);
          expect(dew).toBeLessThanOrEqual(air + 1e-9);
          expect(relativeHumidityPercent(air, dew)).toBeCloseTo(humidity, 6);
          expect(airCelsiusAtHumidity(dew, humidity)).toBeCloseTo(air, 6);
        },
      ),
    );
  });

  it('refuses what no air is', () => {
    for (const humidity of [0, -5, 100.1, NaN])
      expect(() => dewPointCelsius(20, humidity)).toThrow(
        expect.objectContaining({ code: 'out-of-range', path: 'humidityPercent' }),
      );
    expect(() => dewPointCelsius(150, 50)).toThrow(expect.objectContaining({ path: 'airCelsius' }));
    expect(relativeHumidityPercent(10, 12)).toBe(100);
  });
});
