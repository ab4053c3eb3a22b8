/** What repairing a machine takes, in cash and own minutes, learnt from the shop's own jobs. */

export interface PastEffort {
  cash: number;
  minutes: number;
  /** Faults that were found, by name. */
  faults: readonly string[];
}

/** Mean and standard deviation; a log-normal distribution where a shape is needed. */
export interface Spread {
  mean: number;
  deviation: number;
}

export interface EffortBelief {
  /** Of a machine with the faults that were seen, before any that are not known. */
  cash: Spread;
  minutes: Spread;
  /** What each fault adds. */
  faults: Map<string, FaultBelief>;
  jobs: number;
}

export interface FaultBelief {
  /** Probability that a machine of this kind has it. */
  probability: number;
  cash: Spread;
  minutes: Spread;
  /** Own jobs with it. */
  jobs: number;
}

export interface EffortPrior {
  /** Of a machine without any of the faults. */
  cash: number;
  minutes: number;
  faults: readonly { name: string; probability: number; cash: number; minutes: number }[];
}

/**
 * Spread of one job's cash and minutes about the mean as a share of it, and jobs that the prior is worth. Judgement, no
 * source.
 */
const JOB_SPREAD = 0.5;
const PRIOR_JOBS = 2;
/** A fault's own cost is known to this share before a job with it was done. */
const FAULT_SPREAD = 0.7;
const LEAST = 1;

/**
 * Bayesian linear regression of past jobs' cash and minutes on what faults they had: a normal belief about the base and
 * about each fault (the prior's mean, a spread in proportion), jobs spread about their own mean by half. The
 * probability of a fault is (prior·2 + jobs with it) ÷ (2 + jobs): a beta belief worth two jobs.
 * @param seen names of the faults that were seen on the machine at hand
 */
export function learnEffort(past: readonly PastEffort[], prior: EffortPrior, seen: readonly string[]): EffortBelief {
  const names = prior.faults.map((fault) => fault.name);
  const learn = (of: (job: PastEffort) => number, base: number, ofFault: (index: number) => number) =>
    regress(
      past.map((job) => ({ y: of(job), has: names.map((name) => (job.faults.includes(name) ? 1 : 0)) })),
      [base, ...names.map((_, index) => ofFault(index))],
    );
  const cash = learn(
    (job) => job.cash,
    prior.cash,
    (index) => prior.faults[index]!.cash,
  );
  const minutes = learn(
    (job) => job.minutes,
    prior.minutes,
    (index) => prior.faults[index]!.minutes,
  );
  const row = [1, ...names.map((name) => (seen.includes(name) ? 1 : 0))];
  return {
    cash: predictive(cash, row),
    minutes: predictive(minutes, row),
    faults: new Map(
      names.map((name, index) => {
        const jobs = past.filter((job) => job.faults.includes(name)).length;
        const unit = row.map((_, column) => (column === index + 1 ? 1 : 0));
        return [
          name,
          {
            probability: (prior.faults[index]!.probability * PRIOR_JOBS + jobs) / (PRIOR_JOBS + past.length),
            cash: about(cash, unit),
            minutes: about(minutes, unit),
            jobs,
          },
        ];
      }),
    ),
    jobs: past.length,
  };
}

interface Regression {
  mean: number[];
  covariance: number[][];
  noise: number;
}

function regress(rows: readonly { y: number; has: readonly number[] }[], priorMean: readonly number[]): Regression {
  const count = priorMean.length;
  const typical = Math.max(LEAST, priorMean[0]!, rows.reduce((sum, row) => sum + row.y, 0) / (rows.length || 1));
  const noise = JOB_SPREAD * typical;
  let covariance = priorMean.map((mean, i) =>
    priorMean.map((_, j) =>
      i !== j ? 0 : i === 0 ? noise ** 2 / PRIOR_JOBS : (FAULT_SPREAD * Math.max(LEAST, mean)) ** 2,
    ),
  );
  let mean = [...priorMean];
  // One job after another: the rank-one update of a normal belief (as a Kalman filter without motion).
  for (const { y, has } of rows) {
    const x = [1, ...has];
    const along = covariance.map((row) => row.reduce((sum, value, j) => sum + value * x[j]!, 0));
    const variance = noise ** 2 + along.reduce((sum, value, i) => sum + value * x[i]!, 0);
    const residual = y - mean.reduce((sum, value, i) => sum + value * x[i]!, 0);
    mean = mean.map((value, i) => value + (along[i]! * residual) / variance);
    covariance = covariance.map((row, i) => row.map((value, j) => value - (along[i]! * along[j]!) / variance));
  }
  return { mean, covariance: covariance.slice(0, count), noise };
}

function about({ mean, covariance }: Regression, row: readonly number[]): Spread {
  const variance = row.reduce((sum, a, i) => sum + row.reduce((all, b, j) => all + a * b * covariance[i]![j]!, 0), 0);
  return {
    mean: Math.max(
      0,
      row.reduce((sum, value, i) => sum + value * mean[i]!, 0),
    ),
    deviation: Math.sqrt(Math.max(0, variance)),
  };
}

function predictive(regression: Regression, row: readonly number[]): Spread {
  const { mean, deviation } = about(regression, row);
  return { mean, deviation: Math.hypot(deviation, Math.min(regression.noise, JOB_SPREAD * Math.max(LEAST, mean))) };
}

const NODES = 9;
/** Standard normal quantiles at (k + ½)/9. */
const Z = [-1.5932, -0.9674, -0.5895, -0.2822, 0, 0.2822, 0.5895, 0.9674, 1.5932];

/** Nine alike likely values of a log-normal distribution of that mean and deviation; the mean is kept. */
export function logNormalNodes({ mean, deviation }: Spread): number[] {
  if (mean <= 0) return new Array<number>(NODES).fill(0);
  const s = Math.sqrt(Math.log1p((deviation / mean) ** 2));
  const raw = Z.map((z) => Math.exp(s * z));
  const sum = raw.reduce((all, value) => all + value, 0);
  return raw.map((value) => (value * mean * NODES) / sum);
}
