import { EngineError } from '../../src/engine/error.js';

/** Selling `units` alike within `time`, buyers arriving at rate a·e^(−αp) at price p. */
export interface ExponentialDemand {
  units: number;
  /** Time to go, in the unit of the rate. */
  time: number;
  /** Rate at price zero, constant or integrated over the time to go (then `time` is 1). */
  rate: number;
  /** α: a price higher by 1/α loses a factor e of the buyers. */
  sensitivity: number;
  /** What each unsold unit is worth at the end; default 0. */
  salvage?: number;
}

/**
 * Expected revenue of the best pricing policy: J = (1/α)·log Σᵢ₌₀ⁿ (λ*t)ⁱ/i!, λ* = a/e (Gallego and van Ryzin,
 * Management Science 40(8), 1994, §2.3 eqs 9–10, written there for α = 1). With a salvage value v the rate becomes
 * a·e^(−αv) and v·n is added.
 * @throws EngineError `bad-number` for negative or non-finite input, or units that are no whole number
 */
export function bestRevenue(demand: ExponentialDemand): number {
  const { units, sensitivity, salvage = 0 } = check(demand);
  return salvage * units + logTruncatedExponential(units, load(demand)) / sensitivity;
}

/** The best price now: J(n, t) − J(n − 1, t) + 1/α. */
export function bestPrice(demand: ExponentialDemand): number {
  if (demand.units < 1) throw new EngineError('bad-number', 'a price needs something to sell', 'units');
  return bestRevenue(demand) - bestRevenue({ ...demand, units: demand.units - 1 }) + 1 / demand.sensitivity;
}

/** Expected revenue at one price kept to the end: p·E[min(n, Poisson(a·e^(−αp)·t))] (eq. 17), plus salvage of what is left. */
export function fixedPriceRevenue(demand: ExponentialDemand, price: number): number {
  const { units, time, rate, sensitivity, salvage = 0 } = check(demand);
  const mean = rate * Math.exp(-sensitivity * price) * time;
  let probability = Math.exp(-mean);
  let missing = units * probability; // E[max(0, n − N)]: units left over
  for (let sold = 1; sold < units; sold++) {
    probability *= mean / sold;
    missing += (units - sold) * probability;
  }
  return price * (units - missing) + salvage * missing;
}

/** The best price to keep to the end, and what it brings; golden section on the single peak. */
export function bestFixedPrice(demand: ExponentialDemand): { price: number; revenue: number } {
  const { sensitivity, salvage = 0 } = check(demand);
  let low = salvage;
  let high = bestPrice(demand) + 20 / sensitivity;
  const ratio = (Math.sqrt(5) - 1) / 2;
  for (let k = 0; k < 200; k++) {
    const left = high - ratio * (high - low);
    const right = low + ratio * (high - low);
    if (fixedPriceRevenue(demand, left) < fixedPriceRevenue(demand, right)) low = left;
    else high = right;
  }
  const price = (low + high) / 2;
  return { price, revenue: fixedPriceRevenue(demand, price) };
}

function load({ time, rate, sensitivity, salvage = 0 }: ExponentialDemand): number {
  return (rate * Math.exp(-sensitivity * salvage) * time) / Math.E;
}

/** log Σᵢ₌₀ⁿ xⁱ/i!, scaled by its largest term so that nothing overflows. */
function logTruncatedExponential(n: number, x: number): number {
  if (x === 0) return 0;
  const largest = Math.min(n, Math.floor(x));
  let logLargest = 0;
  for (let i = 1; i <= largest; i++) logLargest += Math.log(x / i);
  let sum = 1;
  for (let i = largest, term = 1; i > 0; i--) sum += term *= i / x;
  for (let i = largest + 1, term = 1; i <= n; i++) sum += term *= x / i;
  return logLargest + Math.log(sum);
}

function check(demand: ExponentialDemand): ExponentialDemand {
  const { units, time, rate, sensitivity, salvage = 0 } = demand;
  if (!Number.isInteger(units) || units < 0)
    throw new EngineError('bad-number', `${units} is not a count of units`, 'units');
  if (![time, rate, salvage].every((value) => Number.isFinite(value) && value >= 0))
    throw new EngineError('bad-number', 'time, rate and salvage are zero or more', 'demand');
  if (!(Number.isFinite(sensitivity) && sensitivity > 0))
    throw new EngineError('bad-number', `a sensitivity is above zero, not ${sensitivity}`, 'sensitivity');
  return demand;
}
