import { fastestClosing } from './clock.js';
import { closingRate, type DryingSheet, openingRate } from './product.js';

/**
 * How the temperatures of a place age a coat, hour by hour, added up: one table serves every coat of a product there,
 * whenever it goes on, since an age is the difference of two sums. One for drying, one for how windows close.
 * Beyond the last hour nothing is known, and a moment that lies there is not told.
 */
export interface AgeTable {
  /** The minute at which the first hour begins. */
  fromMinute: number;
  /** Equivalent minutes at the beginning of each hour since the first; one entry more than there are hours. */
  drying: Float64Array;
  closing: Float64Array;
}

/**
 * What a product's tables depend on, whatever its name. With `recoatRates` the drying sums run as the coat comes to its
 * recoat windows; without, as it dries.
 */
export type AgeingSheet = Pick<
  DryingSheet,
  'name' | 'referenceCelsius' | 'minCelsius' | 'maxCelsius' | 'sensitivity' | 'recoatRates'
>;

/**
 * @param celsius the place's temperature in each hour; NaN where it is unknown, which dries nothing and closes as at the
 *   warmest allowed
 */
export function ageTable(sheet: AgeingSheet, fromMinute: number, celsius: Float64Array): AgeTable {
  const drying = new Float64Array(celsius.length + 1);
  const closing = new Float64Array(celsius.length + 1);
  const full = sheet as DryingSheet;
  const warmest = fastestClosing(full);
  // A rate costs an exponential; half a degree in a hundred changes no window by a minute an hour.
  const rates = new Map<number, readonly [number, number]>();
  for (let hour = 0; hour < celsius.length; hour++) {
    const at = celsius[hour]!;
    if (Number.isNaN(at)) {
      drying[hour + 1] = drying[hour]!;
      closing[hour + 1] = closing[hour]! + 60 * warmest;
      continue;
    }
    const rounded = Math.round(at * 100);
    let rate = rates.get(rounded);
    if (!rate) {
      rate = [60 * openingRate(full, rounded / 100), 60 * closingRate(full, rounded / 100)];
      rates.set(rounded, rate);
    }
    drying[hour + 1] = drying[hour]! + rate[0];
    closing[hour + 1] = closing[hour]! + rate[1];
  }
  return { fromMinute, drying, closing };
}

/** The mean of tables of one length, entry by entry: the course to expect where one schedule has to serve for all years. */
export function meanAgeTable(tables: readonly AgeTable[]): AgeTable {
  const [first] = tables as [AgeTable];
  const mean = (of: (table: AgeTable) => Float64Array): Float64Array => {
    const sum = new Float64Array(of(first).length);
    for (const table of tables) for (let k = 0; k < sum.length; k++) sum[k] = sum[k]! + of(table)[k]!;
    return sum.map((value) => value / tables.length);
  };
  return { fromMinute: first.fromMinute, drying: mean((one) => one.drying), closing: mean((one) => one.closing) };
}

/** Equivalent minutes since the table's beginning; before it 0, after its end as at its end. */
export function ageAt(sums: Float64Array, fromMinute: number, minute: number): number {
  const at = (minute - fromMinute) / 60;
  if (at <= 0) return 0;
  const hour = Math.floor(at);
  if (hour >= sums.length - 1) return sums[sums.length - 1]!;
  return sums[hour]! + (sums[hour + 1]! - sums[hour]!) * (at - hour);
}

/** Rounding of sums over hours. */
const DUST = 1e-6;

/**
 * The first minute, not before `since`, at which so much age has been added since then.
 * @returns Infinity when the table ends before
 */
export function minuteOfAddedAge(sums: Float64Array, fromMinute: number, since: number, age: number): number {
  if (age <= 0) return since;
  const target = ageAt(sums, fromMinute, since) + age - DUST;
  const last = sums.length - 1;
  if (sums[last]! < target) return Infinity;
  // Doubling steps from the start: a cure of two weeks lies near, one that waits for spring far.
  let low = Math.min(last, Math.max(0, Math.floor((since - fromMinute) / 60)));
  let step = 16;
  let high = low;
  while (sums[high]! < target) {
    low = high;
    high = Math.min(last, high + step);
    step *= 2;
  }
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (sums[middle]! < target) low = middle;
    else high = middle;
  }
  if (high === low) return Math.max(since, fromMinute + 60 * low);
  const additionalMachines = sums[high]! - sums[low]!;
  return Math.max(since, fromMinute + 60 * (low + (target - sums[low]!) / additionalMachines));
}
