/** Finds the public reference records that stand beside the checkout, and reads their plain CSV files. */
import { existsSync, readFileSync } from 'node:fs';
import path from 'node:path';
import { it } from '@jest/globals';
import type { StationDay } from '../src/engine/weather/index.js';

const directory = process.env.REFERENCE_DIR ?? path.join(import.meta.dirname, '../../shared/reference');
const serialize = existsSync(path.join(directory, 'climate'));

export const climateFile = (name: string): string => path.join(directory, 'climate', name);
export const readClimate = (name: string): string => readFileSync(climateFile(name), 'utf8');

/** A test against reference data; says plainly when there is none to check against. */
export const checkReference: typeof it = (
  serialize ? it : (name: string) => it.skip(`${name} (skipped: reference data absent)`, () => {})
) as typeof it;

/** A station's records, read without the project's own parser so that they can check it. */
export function referenceDays(station: string): StationDay[] {
  const number = (text: string | undefined): number | null => (text === undefined || text === '' ? null : Number(text));
  return readClimate(`${station}.csv`)
    .trim()
    .split('\n')
    .slice(1)
    .map((line) => {
      const [day, high, low, water, snow, trace] = line.split(',');
      return {
        day: day!,
        highCelsius: number(high),
        lowCelsius: number(low),
        precipitationMillimetres: number(water),
        snowfallMillimetres: number(snow),
        snowTrace: trace === '1',
        humidityPercent: null,
      };
    });
}
