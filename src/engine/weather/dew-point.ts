import { EngineError } from '../error.js';

/**
 * Magnus form over water: Alduchov & Eskridge (1996), "Improved Magnus form approximation of saturation vapor
 * pressure", J. Appl. Meteor. 35, 601–609 (their AERK); within 0.03 °C of a psychrometrics library's dew points
 * above 0 °C. Over ice (AERKi) for the frost point.
 */
const WATER = { hectopascals: 6.1094, slope: 17.625, celsius: 243.04 };
const ICE = { hectopascals: 6.1121, slope: 22.587, celsius: 273.86 };

const pressure = ({ hectopascals, slope, celsius: offset }: typeof WATER, celsius: number): number =>
  hectopascals * Math.exp((slope * celsius) / (offset + celsius));

function temperature({ hectopascals, slope, celsius: offset }: typeof WATER, vapour: number): number {
  const logarithm = Math.log(vapour / hectopascals);
  return (offset * logarithm) / (slope - logarithm);
}

/**
 * The temperature at which air of this humidity begins to wet a surface, °C. Always over water: a steel surface
 * just below 0 °C still gathers dew before frost. Below 0 °C the frost point is the higher one.
 * @param humidityPercent above 0, up to 100
 * @throws EngineError `out-of-range`
 */
export function dewPointCelsius(airCelsius: number, humidityPercent: number): number {
  return temperature(WATER, vapourHectopascals(airCelsius, humidityPercent));
}

/** The temperature at which air of this humidity begins to put frost on a surface, °C; meaningful below 0 °C. */
export function frostPointCelsius(airCelsius: number, humidityPercent: number): number {
  return temperature(ICE, vapourHectopascals(airCelsius, humidityPercent));
}

/** Relative humidity over water of air with this dew point, at most 100. */
export function relativeHumidityPercent(airCelsius: number, dewCelsius: number): number {
  requireCelsius(airCelsius, 'airCelsius');
  requireCelsius(dewCelsius, 'dewCelsius');
  return Math.min(100, (100 * pressure(WATER, dewCelsius)) / pressure(WATER, airCelsius));
}

/** The air temperature at which air with this dew point has this relative humidity; warmer air has less. */
export function airCelsiusAtHumidity(dewCelsius: number, humidityPercent: number): number {
  requireCelsius(dewCelsius, 'dewCelsius');
  requirePercent(humidityPercent);
  return temperature(WATER, (100 * pressure(WATER, dewCelsius)) / humidityPercent);
}

function vapourHectopascals(airCelsius: number, humidityPercent: number): number {
  requireCelsius(airCelsius, 'airCelsius');
  requirePercent(humidityPercent);
  return (humidityPercent / 100) * pressure(WATER, airCelsius);
}

function requireCelsius(value: number, path: string): void {
  if (!(value >= -90 && value <= 100))
    throw new EngineError('out-of-range', `a temperature must lie between -90 and 100 °C, not ${value}`, path);
}

function requirePercent(value: number): void {
  if (!(value > 0 && value <= 100))
    throw new EngineError(
      'out-of-range',
      `relative humidity must be above 0 and at most 100 %, not ${value}`,
      'humidityPercent',
    );
}
