/** What a shop reads and types, beside what is stored: the API and the database stay metric, people need not. */

export type UnitSystem = 'metric' | 'imperial';

export type Quantity = 'temperature' | 'temperatureSpan' | 'length' | 'distance' | 'volume' | 'area' | 'film' | 'snow';

interface Unit {
  symbol: string;
  /** Shown value = stored value × factor + offset. */
  factor: number;
  offset: number;
  decimals: number;
}

const unit = (symbol: string, factor: number, decimals: number, offset = 0): Unit => ({
  symbol,
  factor,
  offset,
  decimals,
});

/**
 * Exact factors: the international inch and mile (25.4 mm, 1609.344 m) and the US liquid pint (473.176473 mL) as in
 * NIST Special Publication 811 (2008), appendix B.8; the thousandth of an inch for films is 25.4 µm.
 */
const units: Record<UnitSystem, Record<Quantity, Unit>> = {
  metric: {
    temperature: unit('°C', 1, 0),
    temperatureSpan: unit('°C', 1, 1),
    length: unit('mm', 1, 1),
    distance: unit('km', 1, 1),
    volume: unit('L', 1, 2),
    area: unit('m²', 1, 2),
    film: unit('µm', 1, 0),
    snow: unit('cm', 0.1, 1),
  },
  imperial: {
    temperature: unit('°F', 1.8, 0, 32),
    temperatureSpan: unit('°F', 1.8, 0),
    length: unit('in', 1 / 25.4, 2),
    distance: unit('mi', 1 / 1.609344, 1),
    volume: unit('pt', 1 / 0.473176473, 2),
    area: unit('sq ft', 1 / 0.09290304, 1),
    film: unit('mil', 1 / 25.4, 1),
    snow: unit('in', 1 / 25.4, 1),
  },
};

export const unitSymbol = (system: UnitSystem, quantity: Quantity): string => units[system][quantity].symbol;

/** @returns the number as shown, without its symbol: 21.5 mm in an imperial shop is "0.85" */
export function shownNumber(system: UnitSystem, quantity: Quantity, stored: number): string {
  const { factor, offset, decimals } = units[system][quantity];
  return String(Number((stored * factor + offset).toFixed(decimals)));
}

/** @returns the number with its symbol, the two held together by a no-break space */
export const showQuantity = (system: UnitSystem, quantity: Quantity, stored: number): string =>
  `${shownNumber(system, quantity, stored)}\u00a0${unitSymbol(system, quantity)}`;

/**
 * Reads what a person typed in the shop's unit. A decimal comma and the unit's symbol are understood.
 * @returns the value as stored, rounded to a millionth; undefined when it is no number
 */
export function readQuantity(system: UnitSystem, quantity: Quantity, typed: string): number | undefined {
  const match = /^([+\-−]?\d+(?:[.,]\d+)?)\s*(?:°?[a-zµ²" ]*)$/i.exec(typed.trim());
  if (!match?.[1]) return undefined;
  const { factor, offset } = units[system][quantity];
  const value = (Number(match[1].replace(',', '.').replace('−', '-')) - offset) / factor;
  return Math.round(value * 1e6) / 1e6;
}

const number = String.raw`(-?\d+(?:\.\d+)?)`;
const inSentences: { pattern: RegExp; quantity: Quantity }[] = [
  { pattern: new RegExp(`${number} °C (?=above|below|warmer|colder|more than)`, 'g'), quantity: 'temperatureSpan' },
  { pattern: new RegExp(`${number} °C`, 'g'), quantity: 'temperature' },
  { pattern: new RegExp(`${number} km\\b`, 'g'), quantity: 'distance' },
  { pattern: new RegExp(`${number} µm`, 'g'), quantity: 'film' },
  { pattern: new RegExp(`${number} m²`, 'g'), quantity: 'area' },
  { pattern: new RegExp(`${number} L\\b`, 'g'), quantity: 'volume' },
  { pattern: new RegExp(`${number} mm of snow`, 'g'), quantity: 'snow' },
];

/**
 * The service's own sentences state metric figures; this shows them in the shop's units. Millimetres stay, other than of
 * snow: a fastener's designation is never converted.
 */
export function sentenceInUnits(system: UnitSystem, sentence: string): string {
  if (system === 'metric') return sentence;
  return inSentences.reduce(
    (text, { pattern, quantity }) =>
      text.replace(
        pattern,
        (whole, value: string) =>
          showQuantity(system, quantity, Number(value)) +
          (whole.endsWith('of snow') ? ' of snow' : whole.endsWith(' ') ? ' ' : ''),
      ),
    sentence,
  );
}
