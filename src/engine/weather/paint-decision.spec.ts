import { describe, expect, it } from '@jest/globals';
import { decidePaint, DEFAULT_PAINT_LIMITS } from './paint-decision.js';

const codes = (conditions: Parameters<typeof decidePaint>[0], limits = DEFAULT_PAINT_LIMITS) =>
  decidePaint(conditions, limits).refusals.map((one) => one.code);

describe('whether to paint now', () => {
  it('refuses metal of 13 °C in air of 16 °C at 71 %, whose dew point is 11 °C', () => {
    // scribd 146044552 worked example: do not paint.
    const decision = decidePaint({ airCelsius: 16, humidityPercent: 71, metalCelsius: 13 });
    expect(decision.allowed).toBe(false);
    expect(decision.refusals).toEqual([
      {
        code: 'too-near-dew-point',
        detail: 'the metal at 13 °C is 2.3 °C above the dew point of 10.7 °C, the least is 3 °C',
      },
    ]);
  });

  it('allows metal of 19 °C where the dew point is 15 °C', () => {
    // The same source: 21 °C dry and 17 °C wet bulb, dew point 15 °C, about 67 %: paint.
    const decision = decidePaint({ airCelsius: 21, humidityPercent: 67, metalCelsius: 19 });
    expect(decision.allowed).toBe(true);
    expect(decision.dewPointCelsius).toBeCloseTo(15, 0);
  });

  it('takes 62 °F as the least metal for air of 70 °F at 65 % under a rule of 5 °F', () => {
    // handypdf dew-point chart: dew point 57 °F, surface at least 62 °F; the chart rounds, so one degree either side.
    const limits = { ...DEFAULT_PAINT_LIMITS, dewPointMarginCelsius: 5 / 1.8 };
    const at = (fahrenheit: number) =>
      decidePaint(
        { airCelsius: 70 / 1.8 - 32 / 1.8, humidityPercent: 65, metalCelsius: (fahrenheit - 32) / 1.8 },
        limits,
      ).allowed;
    expect([at(61), at(63)]).toEqual([false, true]);
  });

  it('names every limit that is broken', () => {
    expect(codes({ airCelsius: 5, humidityPercent: 95 })).toEqual([
      'air-too-cold',
      'metal-too-cold',
      'too-humid',
      'too-near-dew-point',
    ]);
    expect(codes({ airCelsius: 38, humidityPercent: 30 })).toEqual(['air-too-hot', 'metal-too-hot']);
    // Sun on the metal, or metal brought in from the cold.
    expect(codes({ airCelsius: 25, humidityPercent: 40, metalCelsius: 50 })).toEqual(['metal-too-hot']);
    expect(codes({ airCelsius: 20, humidityPercent: 40, metalCelsius: 4 })).toEqual([
      'metal-too-cold',
      'too-near-dew-point',
    ]);
  });

  it('counts the limits themselves as good', () => {
    expect(codes({ airCelsius: 10, humidityPercent: 50 })).toEqual([]);
    expect(codes({ airCelsius: 35, humidityPercent: 50 })).toEqual([]);
    expect(
      codes({ airCelsius: 20, humidityPercent: 85 }, { ...DEFAULT_PAINT_LIMITS, dewPointMarginCelsius: 2 }),
    ).toEqual([]);
  });
});
