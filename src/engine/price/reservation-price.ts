import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { type Amount, parseAmount } from '../money/index.js';
import { priceForNet, type SellingTerms } from './terms.js';

/** What else could be done with the machine, each with what it leaves after its own costs. */
export interface Alternatives {
  /** Worth to the shop itself, in use. */
  keep?: Amount | null;
  /** Parts sold or used, less the time to take them off. */
  partOut?: Amount | null;
  /** Sold as it stands, unfinished. */
  sellAsIs?: Amount | null;
  /** Waiting for another season, less a year of space. */
  nextSeason?: Amount | null;
  /** The scales. */
  scrap?: Amount | null;
}

export interface ReservationPrice {
  reservationPrice: Decimal;
  /** The alternative that sets it. */
  better: keyof Alternatives;
  /** Whether a sale at it brings back less than was and will be paid out; the shop should know it. */
  belowCashCost: boolean;
  /** The price at which the cash is back. */
  cashBack: Decimal;
  reasons: string[];
}

const WORDS: Record<keyof Alternatives, string> = {
  keep: 'keeping it',
  partOut: 'parting it out',
  sellAsIs: 'selling it as it stands',
  nextSeason: 'waiting for next season',
  scrap: 'scrapping it',
};

/**
 * The price below which another use is better: the lowest price that leaves, after tax, selling costs and what it still
 * takes to finish, as much as the best alternative. What was already spent does not count (sell or process further,
 * OpenStax Principles of Accounting vol. 2 §10.5), but a reservation price below it is said out loud.
 * @param cash `spent` was paid out so far, `toFinish` is still to be paid before it can be sold
 * @throws EngineError `no-alternative` without any alternative stated
 */
export function computeReservationPrice(
  alternatives: Alternatives,
  cash: { spent: Amount; toFinish: Amount },
  terms: SellingTerms,
  currency: string,
): ReservationPrice {
  const amount = (value: Amount, path: string): Decimal =>
    typeof value === 'string' ? parseAmount(value, currency, path) : value;
  const stated = (Object.keys(WORDS) as (keyof Alternatives)[])
    .filter((name) => alternatives[name] !== null && alternatives[name] !== undefined)
    .map((name) => ({ name, value: amount(alternatives[name]!, `alternatives/${name}`) }));
  if (stated.length === 0)
    throw new EngineError(
      'no-alternative',
      'a reservation price needs something else that could be done with the machine',
      'alternatives',
    );
  const best = stated.reduce((top, each) => (each.value.greaterThan(top.value) ? each : top));
  const toFinish = amount(cash.toFinish, 'cash/toFinish');
  const spent = amount(cash.spent, 'cash/spent');
  const lowest = priceForNet(best.value.plus(toFinish), terms, currency);
  const cashBack = priceForNet(spent.plus(toFinish), terms, currency);
  const belowCashCost = lowest.lessThan(cashBack);
  return {
    reservationPrice: lowest,
    better: best.name,
    belowCashCost,
    cashBack,
    reasons: [
      `Below ${lowest.toFixed()} ${currency}, ${WORDS[best.name]} is better: it leaves ${best.value.toFixed()}`,
      ...(toFinish.greaterThan(0)
        ? [`Finishing it still takes ${toFinish.toFixed()} in cash, which a sale must bring back first`]
        : []),
      belowCashCost
        ? `That is below ${cashBack.toFixed()}, the price that brings back the ${spent.plus(toFinish).toFixed()} ` +
          `paid out for it: selling there is a loss in cash, only a smaller one than the alternative's`
        : `A sale at that price brings back the ${spent.plus(toFinish).toFixed()} paid out for it`,
    ],
  };
}
