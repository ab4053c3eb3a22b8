import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import type { ListingHistory } from './listing-history.js';
import { type Seasonality, seasonDemand, seasonNearness } from './seasonality.js';

/** A machine's time on offer as the shop recorded it. Amounts are agreed prices, before sales tax on top. */
export interface ListingRecord {
  /** The asks as they stood, each from a day on (YYYY-MM-DD), oldest first; the first day is the first on offer. */
  asks: readonly { from: string; ask: number }[];
  /** Day it was sold or taken off, or today: the first day on which it is no longer known to be on offer. */
  to: string;
  offers: readonly { on: string; amount: number }[];
  /** Whether the shop recorded every offer at that time. */
  offersRecorded: boolean;
  sale: { on: string; price: number } | null;
}

/** Where offers were not recorded, one this near the ask is taken to be accepted. Judgement, no source. */
const ACCEPTED_UNDER_ASK = 0.08;
/** A sale this near the ask was one at the ask. */
const AT_THE_ASK = 0.005;
const DAYS_A_STRETCH = 7;

/**
 * A recorded time on offer as the demand model takes it: stretches of at most a week with one ask each.
 * @param season the kind's season, what its height adds to the log of a price, and the day (YYYY-MM-DD) from whose going
 *   price shifts are counted
 * @param onTop log of what a buyer hands over for each unit of the agreed price
 * @throws EngineError `bad-number` when it ends before it begins or asks are not in order, `bad-day`
 */
export function listingHistory(
  record: ListingRecord,
  season: { seasonality: Seasonality | null; effect: number; on: string },
  onTop: number,
): ListingHistory {
  const begin = dayNumber(record.asks[0]!.from, 'asks/0/from');
  // A machine sold on its first day was on offer for part of that day.
  const end = Math.max(begin + 1, dayNumber(record.to, 'to'));
  if (dayNumber(record.to, 'to') < begin)
    throw new EngineError('bad-number', `the listing ends on ${record.to}, before it begins`, 'to');
  const starts = record.asks.map(({ from }, index) => dayNumber(from, `asks/${index}/from`));
  if (starts.some((start, index) => index > 0 && start < starts[index - 1]!))
    throw new EngineError('bad-number', 'asks are in the order of their days', 'asks');
  const near = (day: number): number => season.effect * seasonNearness(season.seasonality, day);
  const reference = near(dayNumber(season.on, 'on'));
  const stretches: ListingHistory['stretches'][number][] = [];
  const days: { from: number; to: number }[] = [];
  record.asks.forEach(({ ask }, index) => {
    const until = Math.min(end, starts[index + 1] ?? end);
    for (let from = starts[index]!; from < until; from += DAYS_A_STRETCH) {
      const to = Math.min(from + DAYS_A_STRETCH, until);
      const middle = (from + to) / 2;
      const log = Math.log(ask) + onTop;
      days.push({ from, to });
      stretches.push({
        demandWeeks: (seasonDemand(season.seasonality, middle) * (to - from)) / 7,
        shift: near(middle) - reference,
        ask: log,
        leastAccepted: log - ACCEPTED_UNDER_ASK,
      });
    }
  });
  const stretchOn = (day: number): number => {
    const found = days.findIndex(({ from, to }) => day >= from && day < to);
    return found >= 0 ? found : day < begin ? 0 : days.length - 1;
  };
  const offers = record.offers.map(({ on, amount }, index) => ({
    stretch: stretchOn(dayNumber(on, `offers/${index}/on`)),
    amount: Math.log(amount) + onTop,
  }));
  const { sale } = record;
  if (!sale) return { stretches, offersRecorded: record.offersRecorded, offers, sale: null };
  const stretch = stretchOn(dayNumber(sale.on, 'sale/on'));
  const price = Math.log(sale.price) + onTop;
  const byOffer = price < stretches[stretch]!.ask - AT_THE_ASK;
  // The accepted offer is an event of its own, whether or not it was recorded beside the sale.
  const accepted = offers.some((offer) => Math.abs(offer.amount - price) < AT_THE_ASK);
  return {
    stretches,
    offersRecorded: record.offersRecorded,
    offers: byOffer && !accepted ? [...offers, { stretch, amount: price }] : offers,
    sale: { stretch, price, byOffer },
  };
}
