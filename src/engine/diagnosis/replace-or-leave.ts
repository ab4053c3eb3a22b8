/** Replace a worn part while the machine is apart, or leave it and perhaps come back. */
import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';

export interface ReplaceOrLeave {
  partCost: Decimal;
  hourlyValue: Decimal;
  /** Hands-on minutes with the machine apart as it is, and once it is together again. */
  minutesNow: number;
  minutesLater: number;
  /** In the coming season. */
  probabilityOfFailure: number;
  /** What a failure costs beside part and hours: the trip, the buyer's patience. */
  costOfFailure: Decimal;
}

export interface ReplaceOrLeaveAnswer {
  decision: 'replaceNow' | 'leave';
  costNow: Decimal;
  /** Expected, over the coming season. */
  costOfLeaving: Decimal;
  /** The probability of failure at which both cost the same; above 1 where leaving is always cheaper. */
  breakEvenProbability: number;
}

/**
 * Now costs the part and the hours with the machine apart; leaving costs, as often as it fails, the part, the hours of
 * taking the machine apart again, and the failure.
 * @throws EngineError `bad-number` for a probability outside 0 to 1, or costs below zero
 */
export function replaceOrLeave(question: ReplaceOrLeave): ReplaceOrLeaveAnswer {
  const { partCost, hourlyValue, minutesNow, minutesLater, probabilityOfFailure, costOfFailure } = question;
  if (!(probabilityOfFailure >= 0 && probabilityOfFailure <= 1))
    throw new EngineError('bad-number', `a probability lies between 0 and 1`, 'probabilityOfFailure');
  if ([partCost, hourlyValue, costOfFailure].some((one) => one.isNegative()) || minutesNow < 0 || minutesLater < 0)
    throw new EngineError('bad-number', 'costs and minutes are not below zero', 'partCost');
  const hours = (minutes: number): Decimal => hourlyValue.times(minutes).div(60);
  const costNow = partCost.plus(hours(minutesNow));
  const costOnceFailed = partCost.plus(hours(minutesLater)).plus(costOfFailure);
  const costOfLeaving = costOnceFailed.times(probabilityOfFailure);
  return {
    decision: costNow.lessThan(costOfLeaving) ? 'replaceNow' : 'leave',
    costNow,
    costOfLeaving,
    breakEvenProbability: costOnceFailed.isZero() ? Infinity : costNow.div(costOnceFailed).toNumber(),
  };
}
