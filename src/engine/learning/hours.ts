import { EngineError } from '../error.js';
import { lookUp } from '../look-up.js';
import { Random } from '../statistics/random.js';
import { Normals } from './normals.js';

/** One finished task: how long it took against what its route said then. */
export interface HoursEntry {
  /** Kind of task: 'strip', 'derust'. */
  taskKind: string;
  machineId: string;
  /** The season it was done in, by any name that is the same for all its entries. */
  season: string;
  minutes: number;
  /** What the route gave as likely when the task was planned. */
  routeMinutes: number;
}

/** What is believed of hours before anything is known: all of it judgement. Standard deviations are of the logarithm. */
export interface HoursPriors {
  bias: { mean: number; deviation: number };
  /** Scaled inverse chi-squared: a value and how many observations it is worth. */
  season: { deviation: number; degrees: number };
  machine: { deviation: number; degrees: number };
  taskKind: { deviation: number; degrees: number };
  noise: { deviation: number; degrees: number };
}

export const STATED_HOURS_PRIORS: HoursPriors = {
  bias: { mean: 0.1, deviation: 0.2 },
  season: { deviation: 0.085, degrees: 6 },
  machine: { deviation: 0.12, degrees: 3 },
  taskKind: { deviation: 0.08, degrees: 10 },
  noise: { deviation: 0.35, degrees: 20 },
};

/** One draw of everything that is unknown about hours, logarithms throughout. */
export interface HoursDraw {
  bias: number;
  noise: number;
  seasonDeviation: number;
  machineDeviation: number;
  kindDeviation: number;
  kinds: Record<string, number>;
  machines: Record<string, number>;
  seasons: Record<string, number>;
}

export interface HoursPosterior {
  /** Equally likely. */
  draws: HoursDraw[];
  entries: number;
}

export interface HoursQuestion {
  entries: readonly HoursEntry[];
  seed: number;
  /** Machines and the season whose own effects are wanted; of the others only the spread is kept. */
  machineIds: readonly string[];
  season: string;
  draws?: number;
  priors?: HoursPriors;
}

/** Sweeps before the first draw is kept, and between two that are. */
const BURN_IN = 150;
const THINNING = 3;
const DRAWS = 240;

/**
 * Learns hours from finished tasks: logarithm of hours over the route's = bias + kind of task + machine + season +
 * noise, with normal effects whose spreads are themselves learnt, the season's together with the machines', by Gibbs
 * sampling (Gelman et al. 2013, "Bayesian Data Analysis", 3rd ed., section 11.6: the conditionals of the hierarchical
 * normal model). Same entries and seed: same draws.
 * @throws EngineError `invalid-number` for an entry without minutes
 */
export function learnHours(question: HoursQuestion): HoursPosterior {
  const { entries, seed, draws = DRAWS, priors = STATED_HOURS_PRIORS } = question;
  entries.forEach(({ minutes, routeMinutes }, k) => {
    if (!(minutes > 0) || !(routeMinutes > 0) || !Number.isFinite(minutes / routeMinutes))
      throw new EngineError(
        'invalid-number',
        'An entry needs minutes above 0, of its own and of its route',
        `entries[${k}]`,
      );
  });
  const sampler = new Sampler(entries, priors, new Normals(new Random(seed, 71)));
  const kept: HoursDraw[] = [];
  const sweeps = entries.length === 0 ? draws : BURN_IN + draws * THINNING;
  for (let sweep = 1; sweep <= sweeps; sweep++) {
    sampler.sweep();
    if (entries.length === 0 || (sweep > BURN_IN && (sweep - BURN_IN) % THINNING === 0))
      kept.push(sampler.draw(question.machineIds, question.season));
  }
  return { draws: kept, entries: entries.length };
}

/** The effects of one grouping of the entries and their common spread. */
class Effects {
  readonly names: string[];
  readonly of: Int32Array;
  readonly values: Float64Array;
  variance: number;
  private readonly counts: Float64Array;
  private readonly sums: Float64Array;

  constructor(
    labels: readonly string[],
    readonly prior: { deviation: number; degrees: number },
  ) {
    this.names = [...new Set(labels)].sort();
    const place = new Map(this.names.map((name, k) => [name, k]));
    this.of = Int32Array.from(labels, (label) => lookUp(place, label));
    this.values = new Float64Array(this.names.length);
    this.counts = new Float64Array(this.names.length);
    this.sums = new Float64Array(this.names.length);
    for (const k of this.of) this.counts[k]! += 1;
    this.variance = prior.deviation ** 2;
  }

  /** Draws the effects from what they leave unexplained. `residual` is kept up to date. @returns the sum of their squares */
  sample(residual: Float64Array, noiseVariance: number, normals: Normals): number {
    const { of, values, counts, sums } = this;
    sums.fill(0);
    for (let i = 0; i < of.length; i++) sums[of[i]!]! += residual[i]! + values[of[i]!]!;
    let squares = 0;
    const old = values.slice();
    for (let k = 0; k < values.length; k++) {
      const precision = counts[k]! / noiseVariance + 1 / this.variance;
      values[k] = sums[k]! / noiseVariance / precision + normals.next() / Math.sqrt(precision);
      squares += values[k]! ** 2;
    }
    for (let i = 0; i < of.length; i++) residual[i]! += old[of[i]!]! - values[of[i]!]!;
    return squares;
  }

  draw(wanted: readonly string[] | null): Record<string, number> {
    const effects: Record<string, number> = {};
    const asked = wanted && new Set(wanted);
    this.names.forEach((name, k) => {
      if (!asked || asked.has(name)) effects[name] = this.values[k]!;
    });
    return effects;
  }
}

class Sampler {
  private readonly residual: Float64Array;
  private readonly kinds: Effects;
  private readonly machines: Effects;
  private readonly seasons: Effects;
  private bias: number;
  private noiseVariance: number;
  private seasonRatio: number;

  constructor(
    entries: readonly HoursEntry[],
    private readonly priors: HoursPriors,
    private readonly normals: Normals,
  ) {
    this.bias = priors.bias.mean;
    this.noiseVariance = priors.noise.deviation ** 2;
    this.seasonRatio = (priors.season.deviation / priors.machine.deviation) ** 2;
    this.residual = Float64Array.from(entries, (one) => Math.log(one.minutes / one.routeMinutes) - this.bias);
    this.kinds = new Effects(
      entries.map((one) => one.taskKind),
      priors.taskKind,
    );
    this.machines = new Effects(
      entries.map((one) => one.machineId),
      priors.machine,
    );
    this.seasons = new Effects(
      entries.map((one) => one.season),
      priors.season,
    );
  }

  sweep(): void {
    const { residual, normals, priors } = this;
    const n = residual.length;
    let sum = 0;
    for (let i = 0; i < n; i++) sum += residual[i]! + this.bias;
    const precision = n / this.noiseVariance + 1 / priors.bias.deviation ** 2;
    const mean = (sum / this.noiseVariance + priors.bias.mean / priors.bias.deviation ** 2) / precision;
    const bias = mean + normals.next() / Math.sqrt(precision);
    for (let i = 0; i < n; i++) residual[i]! += this.bias - bias;
    this.bias = bias;
    this.sampleEffects();
    let squares = 0;
    for (let i = 0; i < n; i++) squares += residual[i]! ** 2;
    this.noiseVariance = scaledInverse(priors.noise, squares, n, normals);
  }

  /**
   * One season says nothing of how far seasons differ, but where machines do, seasons will: their variance is so many times
   * that of the machines, and only that ratio has the prior of its own.
   */
  private sampleEffects(): void {
    const { residual, noiseVariance, normals, kinds, machines, seasons } = this;
    kinds.variance = scaledInverse(
      kinds.prior,
      kinds.sample(residual, noiseVariance, normals),
      kinds.values.length,
      normals,
    );
    const ofMachines = machines.sample(residual, noiseVariance, normals);
    const ofSeasons = seasons.sample(residual, noiseVariance, normals);
    const seasonsTotal = seasons.values.length;
    machines.variance = scaledInverse(
      machines.prior,
      ofMachines + ofSeasons / this.seasonRatio,
      machines.values.length + seasonsTotal,
      normals,
    );
    const ratio = { deviation: seasons.prior.deviation / machines.prior.deviation, degrees: seasons.prior.degrees };
    this.seasonRatio = scaledInverse(ratio, ofSeasons / machines.variance, seasonsTotal, normals);
    seasons.variance = this.seasonRatio * machines.variance;
  }

  draw(machineIds: readonly string[], season: string): HoursDraw {
    return {
      bias: this.bias,
      noise: Math.sqrt(this.noiseVariance),
      seasonDeviation: Math.sqrt(this.seasons.variance),
      machineDeviation: Math.sqrt(this.machines.variance),
      kindDeviation: Math.sqrt(this.kinds.variance),
      kinds: this.kinds.draw(null),
      machines: this.machines.draw(machineIds),
      seasons: this.seasons.draw([season]),
    };
  }
}

/** A variance given so many squares, under a scaled inverse chi-squared prior. */
function scaledInverse(
  { deviation, degrees }: { deviation: number; degrees: number },
  squares: number,
  count: number,
  normals: Normals,
): number {
  return (degrees * deviation ** 2 + squares) / normals.chiSquared(degrees + count);
}

/**
 * The mean of hours over the route's for a task, what is unknown of it averaged out.
 * @returns a factor: 1.2 means a fifth longer than the route says
 */
export function expectedHoursFactor(
  { draws }: HoursPosterior,
  { taskKind, machineId, season }: Pick<HoursEntry, 'taskKind' | 'machineId' | 'season'>,
): number {
  let sum = 0;
  for (const draw of draws) {
    const kind = draw.kinds[taskKind];
    const machine = draw.machines[machineId];
    const luck = draw.seasons[season];
    const variance =
      draw.noise ** 2 +
      (kind === undefined ? draw.kindDeviation ** 2 : 0) +
      (machine === undefined ? draw.machineDeviation ** 2 : 0) +
      (luck === undefined ? draw.seasonDeviation ** 2 : 0);
    sum += Math.exp(draw.bias + (kind ?? 0) + (machine ?? 0) + (luck ?? 0) + variance / 2);
  }
  return sum / draws.length;
}

/** The middle of hours over the route's, as it is told: median over the draws of bias, kind and season. */
export function typicalHoursFactor({ draws }: HoursPosterior, taskKind: string | null, season: string): number {
  const logs = draws
    .map((draw) => draw.bias + (taskKind === null ? 0 : (draw.kinds[taskKind] ?? 0)) + (draw.seasons[season] ?? 0))
    .sort((a, b) => a - b);
  return Math.exp(logs[Math.floor(logs.length / 2)]!);
}
