import { EngineError } from '../../error.js';
import { normalQuantile } from '../../statistics/index.js';
import type { FoundLength, LearntLength } from './luck.js';
import { checkThreePoint, type ThreePoint } from './pert.js';

/** How long a task may take. */
export type LengthModel =
  /** Beta-PERT through best, most likely and worst. */
  | ({ kind: 'three-point' } & ThreePoint)
  /** Lengths seen before, each as likely as the next, with straight lines between them in order of size. */
  | { kind: 'entries'; minutes: number[] }
  /** Lognormal, as fitted to past entries; `sigma` is the standard deviation of the logarithm. */
  | { kind: 'lognormal'; medianMinutes: number; sigma: number }
  /** As learnt from the shop's entries, with luck that tasks share; needs `SimulationInput.luck`. */
  | LearntLength
  | FoundLength;

/** Lengths that a task draws by itself. */
export type OwnLength = Exclude<LengthModel, LearntLength | FoundLength>;

/** Steps of a quantile table. */
const STEPS = 512;
/** Three-point shapes are rounded to this fraction of the range, so that tables are shared. */
const SHAPE_STEPS = 256;

/** Draws lengths by inverting the distribution function, so that one random number gives one length, the larger the longer. */
export class LengthSampler {
  private constructor(
    private readonly table: Float64Array,
    private readonly offset: number,
    private readonly scale: number,
  ) {}

  /** @throws EngineError `invalid-estimate`, `invalid-number`. */
  static of(model: OwnLength, path: string): LengthSampler {
    switch (model.kind) {
      case 'three-point': {
        checkThreePoint(model, path);
        const range = model.highMinutes - model.lowMinutes;
        const mode = range === 0 ? 0 : Math.round(((model.likelyMinutes - model.lowMinutes) / range) * SHAPE_STEPS);
        return new LengthSampler(betaTable(mode), model.lowMinutes, range);
      }
      case 'entries': {
        if (model.minutes.length === 0 || !model.minutes.every((m) => Number.isFinite(m) && m >= 0)) {
          throw new EngineError('invalid-number', `${path}.minutes must hold lengths of at least 0`, `${path}.minutes`);
        }
        const sorted = Float64Array.from(model.minutes).sort();
        return new LengthSampler(
          Float64Array.from({ length: STEPS + 1 }, (_, k) => between(sorted, (k / STEPS) * (sorted.length - 1))),
          0,
          1,
        );
      }
      case 'lognormal':
        if (!(model.medianMinutes > 0 && model.sigma >= 0))
          throw new EngineError('invalid-number', `${path} needs a median above 0 and a sigma of at least 0`, path);
        // The ends stand half a step inside, since the distribution has none.
        return new LengthSampler(
          Float64Array.from({ length: STEPS + 1 }, (_, k) =>
            Math.exp(model.sigma * normalQuantile(Math.min(1 - 0.25 / STEPS, Math.max(0.25 / STEPS, k / STEPS)))),
          ),
          0,
          model.medianMinutes,
        );
    }
  }

  /** The length that a share `u` of all lengths stays below. */
  quantile(u: number): number {
    return this.offset + this.scale * between(this.table, u * STEPS);
  }

  /** Share of lengths below `minutes`. */
  below(minutes: number): number {
    if (this.scale === 0) return minutes > this.offset ? 1 : 0;
    const value = (minutes - this.offset) / this.scale;
    const { table } = this;
    if (value <= table[0]!) return 0;
    if (value >= table[STEPS]!) return 1;
    let low = 0;
    let high = STEPS;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (table[middle]! <= value) low = middle;
      else high = middle;
    }
    return (low + (value - table[low]!) / (table[high]! - table[low]!)) / STEPS;
  }
}

function between(table: Float64Array, at: number): number {
  const k = Math.floor(at);
  const low = table[k]!;
  return k + 1 < table.length ? low + (table[k + 1]! - low) * (at - k) : low;
}

const betaTables = new Map<number, Float64Array>();

/**
 * Quantiles of the beta distribution on [0, 1] with PERT's shape, α = 1 + 4m and β = 1 + 4(1 − m) for mode m (Malcolm et al.
 * 1959; the form with λ = 4 is Vose 2008, "Risk Analysis", beta-PERT), by Simpson's rule.
 */
function betaTable(mode: number): Float64Array {
  let table = betaTables.get(mode);
  if (table) return table;
  const m = mode / SHAPE_STEPS;
  const density = (x: number): number => x ** (4 * m) * (1 - x) ** (4 * (1 - m));
  const grid = 4 * STEPS;
  const sums = new Float64Array(grid + 1);
  for (let k = 0; k < grid; k++) {
    sums[k + 1] = sums[k]! + density(k / grid) + 4 * density((k + 0.5) / grid) + density((k + 1) / grid);
  }
  table = new Float64Array(STEPS + 1);
  for (let k = 0, at = 0; k <= STEPS; k++) {
    const wanted = (k / STEPS) * sums[grid]!;
    while (at < grid - 1 && sums[at + 1]! < wanted) at++;
    const width = sums[at + 1]! - sums[at]!;
    table[k] = (at + (width > 0 ? Math.min(1, (wanted - sums[at]!) / width) : 0)) / grid;
  }
  table[0] = 0;
  table[STEPS] = 1;
  betaTables.set(mode, table);
  return table;
}
