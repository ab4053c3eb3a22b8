import { EngineError } from '../../src/engine/error.js';
import { logGamma, trigamma } from '../../src/engine/statistics/index.js';
import { digamma } from './digamma.js';

/** A log-normal by the mean and standard deviation of the natural log. */
export interface LogNormal {
  meanLog: number;
  sdLog: number;
}

/** A gamma by shape and scale (mean = shape × scale), with the log likelihood of the data it was fitted to. */
export interface GammaFit {
  shape: number;
  scale: number;
  logLikelihood: number;
}

/**
 * Maximum-likelihood log-normal of positive numbers; the standard deviation divides by n, not n − 1.
 * @throws EngineError `too-few` under two values, `out-of-range` for a value not above zero.
 */
export function fitLogNormal(values: readonly number[]): LogNormal {
  const logs = positiveLogs(values);
  const meanLog = mean(logs);
  return { meanLog, sdLog: Math.sqrt(mean(logs.map((y) => (y - meanLog) ** 2))) };
}

/**
 * Maximum-likelihood gamma of positive numbers: Newton on `log k − ψ(k) = log(mean) − mean(log)`.
 * @throws EngineError `too-few` under two values or all alike, `out-of-range` for a value not above zero.
 */
export function fitGamma(values: readonly number[]): GammaFit {
  const logs = positiveLogs(values);
  const average = mean(values);
  const gap = Math.log(average) - mean(logs);
  if (!(gap > 1e-12)) throw new EngineError('too-few', 'a gamma cannot be fitted to values that are all alike');
  const shape = gammaShape(gap);
  const scale = average / shape;
  const n = values.length;
  const logLikelihood = n * ((shape - 1) * mean(logs) - average / scale - shape * Math.log(scale) - logGamma(shape));
  return { shape, scale, logLikelihood };
}

/** The shape k > 0 of a gamma variable whose log of the mean exceeds the mean of its log by `gap` > 0. */
function gammaShape(gap: number): number {
  let shape = (3 - gap + Math.sqrt((gap - 3) ** 2 + 24 * gap)) / (12 * gap);
  for (let k = 0; k < 50; k++) {
    const step = (Math.log(shape) - digamma(shape) - gap) / (1 / shape - trigamma(shape));
    shape -= step;
    if (Math.abs(step) < 1e-12 * shape) break;
  }
  return shape;
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, x) => sum + x, 0) / values.length;
}

function positiveLogs(values: readonly number[]): number[] {
  if (values.length < 2) throw new EngineError('too-few', 'a fit needs at least two values');
  return values.map((x, k) => {
    if (!(x > 0 && Number.isFinite(x))) throw new EngineError('out-of-range', `value ${x} is not above zero`, `${k}`);
    return Math.log(x);
  });
}
