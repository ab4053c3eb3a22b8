import { EngineError } from '../error.js';
import { logGamma } from '../statistics/index.js';
import type { ArrivalForecast } from './forecast.js';

/** What is believed of a rate of events (parts used a day): a gamma distribution of mean shape / exposure. */
export interface RateBelief {
  /** Events that the belief is worth. */
  shape: number;
  /** Time in which they would have happened, in days. */
  exposure: number;
}

/** Before any use is recorded: about one in two months, known no better than from one use; common practice, no source. */
export const STATED_USE_PRIOR: RateBelief = { shape: 1, exposure: 60 };

/**
 * The belief after so many events over a time: the conjugate gamma update for Poisson counts, and for exponential waits
 * with `events` the number of waits and `exposure` their sum.
 * @throws EngineError `out-of-range` for a negative count or time
 */
export function updateRate(prior: RateBelief, events: number, exposure: number): RateBelief {
  if (!(events >= 0 && exposure >= 0)) {
    throw new EngineError(
      'out-of-range',
      `${events} events in ${exposure} days cannot be`,
      events >= 0 ? 'exposure' : 'events',
    );
  }
  return { shape: prior.shape + events, exposure: prior.exposure + exposure };
}

/** Chance of exactly `count` events in `days`: a negative binomial, the Poisson count over an uncertain rate. */
export function probabilityOfCount({ shape, exposure }: RateBelief, days: number, count: number): number {
  if (days === 0) return count === 0 ? 1 : 0;
  return Math.exp(
    logGamma(shape + count) -
      logGamma(shape) -
      logGamma(count + 1) +
      shape * Math.log(exposure / (exposure + days)) +
      count * Math.log(days / (exposure + days)),
  );
}

/** When to order again, and what it rests on. */
export interface ReorderPoint {
  /** Order when what is free and on order falls to this or below. */
  quantity: number;
  /** Chance that so many last until the goods come. */
  probability: number;
  meanUsePerDay: number;
}

const MOST = 10_000;

/**
 * The smallest stock that lasts, with at least `service` chance, from ordering until the goods come, over what is not
 * known of the use and of the lead time both. It takes a forecast for a line ordered on the day of asking.
 * @throws EngineError `out-of-range` for a service outside 0–1, or one so high that the forecast's unknown tail
 *   (`probabilityBeyondHorizon`) makes it unreachable
 */
export function reorderPoint(
  use: RateBelief,
  leadTime: Pick<ArrivalForecast, 'probabilityByOffset'>,
  service: number,
): ReorderPoint {
  if (!(service > 0 && service < 1))
    throw new EngineError('out-of-range', `a service of ${service} is outside 0 to 1`, 'service');
  const arrivals = leadTime.probabilityByOffset
    .map((probability, k, all) => ({ days: k + 1, probability: probability - (all[k - 1] ?? 0) }))
    .filter(({ probability }) => probability > 1e-7);
  const reachable = arrivals.reduce((sum, { probability }) => sum + probability, 0);
  if (service >= reachable) {
    throw new EngineError(
      'out-of-range',
      `goods come at all with a chance of ${reachable.toFixed(3)}, under the service asked for`,
      'service',
    );
  }
  let lasts = 0;
  for (let quantity = 0; quantity < MOST; quantity++) {
    for (const { days, probability } of arrivals) lasts += probability * probabilityOfCount(use, days, quantity);
    if (lasts >= service) return { quantity, probability: lasts, meanUsePerDay: use.shape / use.exposure };
  }
  throw new EngineError('out-of-range', `no stock up to ${MOST} lasts with a chance of ${service}`, 'service');
}
