import { EngineError } from '../error.js';
import { logGamma } from '../statistics/index.js';

/**
 * Replace a worn part while the machine is open, or leave it and perhaps come back: now when its cost is under the
 * chance-weighted cost of doing it later.
 * @param costNow replacing it now; `costLater` replacing it after it failed, with the trip and the strip-down
 * @returns the decision and the chance of failure at which both cost the same
 */
export function replaceNowOrLater(
  costNow: number,
  costLater: number,
  probabilityOfFailure: number,
): { decision: 'now' | 'later'; breakEvenProbability: number } {
  if (!(costNow >= 0 && costLater > 0))
    throw new EngineError('bad-number', 'costs of replacing are above zero', 'cost');
  if (!(probabilityOfFailure >= 0 && probabilityOfFailure <= 1))
    throw new EngineError(
      'bad-number',
      `a chance lies between 0 and 1, not ${probabilityOfFailure}`,
      'probabilityOfFailure',
    );
  return {
    decision: costNow < probabilityOfFailure * costLater ? 'now' : 'later',
    breakEvenProbability: costNow / costLater,
  };
}

/** A part that fails by a Weibull law: chance to outlive t is exp(−(t/scale)^shape). */
export interface WearLaw {
  shape: number;
  scale: number;
}

/**
 * Mean cost for each unit of running time when replaced at `age` or at failure: (cp·R + cf·(1 − R)) ÷ ∫₀ᵀ R (Barlow and
 * Proschan; formula from memory).
 */
export function replacementCostRate(age: number, costPlanned: number, costFailed: number, law: WearLaw): number {
  if (!(age > 0)) throw new EngineError('bad-number', `an age of replacement is above zero, not ${age}`, 'age');
  const survival = Math.exp(-((age / law.scale) ** law.shape));
  return (costPlanned * survival + costFailed * (1 - survival)) / meanLifeUpTo(age, law);
}

/**
 * The age at which planned replacement costs least for each unit of running time, by golden section.
 * @returns age `null` when running to failure is at least as good: a part that does not wear out, or a planned
 *   replacement that costs as much as a failure
 */
export function bestReplacementAge(
  costPlanned: number,
  costFailed: number,
  law: WearLaw,
): { age: number | null; costRate: number; runToFailure: number } {
  if (!(costPlanned > 0 && costFailed > 0 && law.shape > 0 && law.scale > 0))
    throw new EngineError('bad-number', 'costs, shape and scale are above zero', 'law');
  const runToFailure = costFailed / (law.scale * Math.exp(logGamma(1 + 1 / law.shape)));
  if (law.shape <= 1 || costPlanned >= costFailed) return { age: null, costRate: runToFailure, runToFailure };
  const rate = (logAge: number): number => replacementCostRate(Math.exp(logAge), costPlanned, costFailed, law);
  const ratio = (Math.sqrt(5) - 1) / 2;
  let low = Math.log(law.scale * 1e-4);
  let high = Math.log(law.scale * (50 ** (1 / law.shape) + 1));
  for (let k = 0; k < 80; k++) {
    const left = high - ratio * (high - low);
    const right = low + ratio * (high - low);
    if (rate(left) < rate(right)) high = right;
    else low = left;
  }
  const age = Math.exp((low + high) / 2);
  const costRate = replacementCostRate(age, costPlanned, costFailed, law);
  return costRate < runToFailure * (1 - 1e-9)
    ? { age, costRate, runToFailure }
    : { age: null, costRate: runToFailure, runToFailure };
}

/** ∫₀ᵀ exp(−(t/scale)^shape) dt by Simpson's rule. */
function meanLifeUpTo(age: number, law: WearLaw): number {
  const panels = 400;
  const step = age / panels;
  let sum = 0;
  for (let k = 0; k <= panels; k++) {
    sum += (k === 0 || k === panels ? 1 : k % 2 ? 4 : 2) * Math.exp(-(((k * step) / law.scale) ** law.shape));
  }
  return (sum * step) / 3;
}
