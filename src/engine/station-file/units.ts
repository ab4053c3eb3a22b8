import { parseDay } from '../days.js';

/** Units a column may be in. */
export type Unit = 'celsius' | 'fahrenheit' | 'millimetres' | 'centimetres' | 'inches' | 'percent';

export type Dimension = 'temperature' | 'depth' | 'share';

export const DIMENSION: Record<Unit, Dimension> = {
  celsius: 'temperature',
  fahrenheit: 'temperature',
  millimetres: 'depth',
  centimetres: 'depth',
  inches: 'depth',
  percent: 'share',
};

/** As written at the end of a column's name. */
export const UNIT_WORDS: Record<string, Unit> = {
  c: 'celsius',
  '°c': 'celsius',
  degc: 'celsius',
  celsius: 'celsius',
  f: 'fahrenheit',
  '°f': 'fahrenheit',
  degf: 'fahrenheit',
  fahrenheit: 'fahrenheit',
  mm: 'millimetres',
  millimetres: 'millimetres',
  millimeters: 'millimetres',
  cm: 'centimetres',
  centimetres: 'centimetres',
  centimeters: 'centimetres',
  in: 'inches',
  inch: 'inches',
  inches: 'inches',
  pct: 'percent',
  percent: 'percent',
  '%': 'percent',
};

/** Reads YYYY-MM-DD, or YYYYMMDD as older exports have it; undefined unless it is a real day. */
export const parseFileDay = (text: string): number | undefined =>
  parseDay(/^\d{8}$/.test(text) ? `${text.slice(0, 4)}-${text.slice(4, 6)}-${text.slice(6)}` : text);

/** To °C, mm or per cent, rounded to hundredths, which no station reads. */
export function convert(value: number, unit: Unit): number {
  const exact = {
    celsius: value,
    fahrenheit: ((value - 32) * 5) / 9,
    millimetres: value,
    centimetres: value * 10,
    inches: value * 25.4,
    percent: value,
  }[unit];
  return Math.round(exact * 100) / 100 + 0;
}
