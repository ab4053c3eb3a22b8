import { type BuyerBehaviour, enquiryFactor, enquiryOutcome, offerDensity, offerDiscounts } from './buyers-model.js';

/** A time on offer as it went: what was asked on which days, which offers came, how it ended. Prices are logs. */
export interface ListingHistory {
  /** Stretches of one ask in one part of the season. */
  stretches: readonly {
    /** Length in weeks, already times the season's demand as a share of the height's. */
    demandWeeks: number;
    /** Shift of the going price against the level. */
    shift: number;
    ask: number;
    /** The least offer that would have been accepted. */
    leastAccepted: number;
  }[];
  /** Whether every offer was recorded; else only the sale is known. */
  offersRecorded: boolean;
  /** Offers that were recorded, the accepted one too, each with the stretch it came in. */
  offers: readonly { stretch: number; amount: number }[];
  /** How it ended: sold in a stretch at a price, or not (yet) sold. */
  sale: { stretch: number; price: number; byOffer: boolean } | null;
}

/**
 * Sums that the likelihood of a history is made of, for one level: it is
 * rate^events · exp(logEvents − rate · exposure), the enquiries being a Poisson process.
 */
export function historyLikelihood(
  history: ListingHistory,
  behaviour: BuyerBehaviour,
  level: number,
  scatter: number,
): { events: number; logEvents: number; exposure: number } {
  const discounts = offerDiscounts(behaviour);
  let exposure = 0;
  let events = 0;
  let logEvents = 0;
  for (const { demandWeeks, shift, ask, leastAccepted } of history.stretches) {
    const going = level + shift;
    const { pays, offers } = enquiryOutcome(
      behaviour,
      discounts,
      scatter,
      ask - going,
      history.offersRecorded ? -Infinity : leastAccepted - going,
    );
    const seen = offers.reduce((sum, each) => sum + each.probability, pays);
    exposure += demandWeeks * enquiryFactor(behaviour, ask - going) * seen;
  }
  const event = (stretch: number, density: (ask: number, going: number) => number): void => {
    const { shift, ask } = history.stretches[stretch]!;
    const going = level + shift;
    events += 1;
    logEvents += Math.log(Math.max(1e-300, enquiryFactor(behaviour, ask - going) * density(ask, going)));
  };
  const { sale } = history;
  if (history.offersRecorded) {
    for (const { stretch, amount } of history.offers)
      event(stretch, (ask, going) => offerDensity(behaviour, discounts, scatter, ask - going, amount - going));
  } else if (sale?.byOffer) {
    event(sale.stretch, (ask, going) => offerDensity(behaviour, discounts, scatter, ask - going, sale.price - going));
  }
  if (sale && !sale.byOffer)
    event(sale.stretch, (ask, going) => enquiryOutcome(behaviour, discounts, scatter, ask - going, Infinity).pays);
  return { events, logEvents, exposure };
}
