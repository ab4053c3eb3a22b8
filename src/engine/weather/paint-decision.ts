import { dewPointCelsius } from './dew-point.js';

/** What a product's sheet, or the shop, asks of the weather. */
export interface PaintLimits {
  minCelsius: number;
  maxCelsius: number;
  maxHumidityPercent: number;
  /** How far the metal must be above the dew point. */
  dewPointMarginCelsius: number;
}

/**
 * 3 °C above the dew point and 85 % are what coating guides ask for (manual.ingal.com.au §13; ISO 8502-4 gives the
 * method, its text was not seen); 10–35 °C is a typical range of a general-purpose coating.
 */
export const DEFAULT_PAINT_LIMITS: PaintLimits = {
  minCelsius: 10,
  maxCelsius: 35,
  maxHumidityPercent: 85,
  dewPointMarginCelsius: 3,
};

export interface PaintConditions {
  airCelsius: number;
  humidityPercent: number;
  /** As measured; taken to be the air's when absent. */
  metalCelsius?: number | null;
}

export type PaintRefusal =
  'air-too-cold' | 'air-too-hot' | 'metal-too-cold' | 'metal-too-hot' | 'too-humid' | 'too-near-dew-point';

export interface PaintDecision {
  allowed: boolean;
  dewPointCelsius: number;
  /** Metal less dew point. */
  marginCelsius: number;
  refusals: { code: PaintRefusal; detail: string }[];
}

/**
 * Whether to paint in measured conditions, and why not. Limits themselves still count as good.
 * @throws EngineError `out-of-range`
 */
export function decidePaint(conditions: PaintConditions, limits: PaintLimits = DEFAULT_PAINT_LIMITS): PaintDecision {
  const { airCelsius, humidityPercent } = conditions;
  const metal = conditions.metalCelsius ?? airCelsius;
  const dew = dewPointCelsius(airCelsius, humidityPercent);
  const refusals: PaintDecision['refusals'] = [];
  const refuse = (wrong: boolean, code: PaintRefusal, detail: string) => wrong && refusals.push({ code, detail });
  const { minCelsius, maxCelsius, maxHumidityPercent, dewPointMarginCelsius } = limits;
  refuse(
    airCelsius < minCelsius,
    'air-too-cold',
    `the air has ${say(airCelsius)} °C, the least is ${say(minCelsius)} °C`,
  );
  refuse(
    airCelsius > maxCelsius,
    'air-too-hot',
    `the air has ${say(airCelsius)} °C, the most is ${say(maxCelsius)} °C`,
  );
  refuse(metal < minCelsius, 'metal-too-cold', `the metal has ${say(metal)} °C, the least is ${say(minCelsius)} °C`);
  refuse(metal > maxCelsius, 'metal-too-hot', `the metal has ${say(metal)} °C, the most is ${say(maxCelsius)} °C`);
  refuse(
    humidityPercent > maxHumidityPercent,
    'too-humid',
    `the humidity is ${say(humidityPercent)} %, the most is ${say(maxHumidityPercent)} %`,
  );
  // A margin is a difference of two rounded figures; a thousandth of a degree decides nothing.
  refuse(
    metal - dew < dewPointMarginCelsius - 0.001,
    'too-near-dew-point',
    `the metal at ${say(metal)} °C is ${say(metal - dew)} °C above the dew point ` +
      `of ${say(dew)} °C, the least is ${say(dewPointMarginCelsius)} °C`,
  );
  return { allowed: refusals.length === 0, dewPointCelsius: dew, marginCelsius: metal - dew, refusals };
}

const say = (value: number): string => String(Math.round(value * 10) / 10 + 0);
