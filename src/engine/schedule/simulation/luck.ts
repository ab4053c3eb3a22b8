import type { FoundWorkPosterior, HoursPosterior } from '../../learning/index.js';
import { normalQuantile } from '../../statistics/index.js';
import { keyOf, uniformFor } from '../../statistics/random.js';
import { normalBelow } from './pert.js';

/** Luck that tasks share: learnt from the shop's entries, drawn once a scenario. */
export interface SharedLuck {
  hours: HoursPosterior;
  /** The season the plan is in, as its entries name it. */
  season: string;
  found: FoundWorkPosterior;
}

/** A task whose hours are as learnt. */
export interface LearntLength {
  kind: 'learnt';
  /** What the route gives as likely. */
  likelyMinutes: number;
  taskKind: string;
  machineId: string;
  /** Put in already; what is drawn is what is left, given that it was not enough. */
  workedMinutes?: number;
  /** Begun work needs at least this much more. */
  minRemainingMinutes?: number;
}

/** Work that may turn up, or the part that it may need. */
export interface FoundLength {
  kind: 'found';
  what: 'work' | 'part';
  /** The step that may find it: the work and its part are found together. */
  occasion: string;
  /** Equally likely days until a part comes that is ordered then; for `part`. */
  partDays?: number[];
}

/** Draws the lengths of one scenario after another. */
export class LuckSampler {
  private readonly kinds: Named;
  private readonly machines: Named;
  private readonly seasonKey = keyOf('season luck');
  private base = 0;
  private noise = 0;
  private scenario = 0;
  private draw = 0;

  constructor(
    private readonly luck: SharedLuck,
    private readonly seed: number,
    lengths: readonly LearntLength[],
  ) {
    const { draws } = luck.hours;
    this.kinds = new Named(
      'kind luck',
      [...new Set(lengths.map((one) => one.taskKind))],
      draws.map((one) => one.kinds),
    );
    this.machines = new Named(
      'machine luck',
      [...new Set(lengths.map((one) => one.machineId))],
      draws.map((one) => one.machines),
    );
  }

  begin(scenario: number): void {
    const { hours, season } = this.luck;
    this.scenario = scenario;
    this.draw = scenario % hours.draws.length;
    const draw = hours.draws[this.draw]!;
    this.base =
      draw.bias +
      (draw.seasons[season] ?? draw.seasonDeviation * normalQuantile(uniformFor(this.seed, this.seasonKey, scenario)));
    this.noise = draw.noise;
    this.kinds.begin(this.seed, scenario, this.draw, draw.kindDeviation);
    this.machines.begin(this.seed, scenario, this.draw, draw.machineDeviation);
  }

  /** @returns a reader of the length in the present scenario, given the task's own uniform number */
  learnt(length: LearntLength): (uniform: number) => number {
    const kind = this.kinds.indexOf(length.taskKind);
    const machine = this.machines.indexOf(length.machineId);
    const { workedMinutes: worked = 0, minRemainingMinutes: least = 0 } = length;
    const likely = Math.log(Math.max(1, length.likelyMinutes));
    return (uniform) => {
      const middle = likely + this.base + this.kinds.values[kind]! + this.machines.values[machine]!;
      if (worked <= 0) return Math.exp(middle + this.noise * normalQuantile(uniform));
      // Given that it has taken so long already: only the longer ends are left.
      const done = normalBelow((Math.log(worked) - middle) / this.noise);
      const share = Math.min(1 - 1e-9, done + uniform * (1 - done));
      return Math.max(least, Math.exp(middle + this.noise * normalQuantile(share)) - worked);
    };
  }

  found({ what, occasion, partDays = [] }: FoundLength): () => number {
    const found = keyOf(`found ${occasion}`);
    const amount = keyOf(`found ${what} ${occasion}`);
    const { draws } = this.luck.found;
    return () => {
      const draw = draws[this.scenario % draws.length]!;
      const happened = uniformFor(this.seed, found, this.scenario);
      if (happened >= draw.probability * (what === 'part' ? draw.partProbability : 1)) return 0;
      const u = uniformFor(this.seed, amount, this.scenario);
      if (what === 'work') return draw.medianMinutes * Math.exp(draw.deviation * normalQuantile(u));
      return partDays.length === 0 ? 0 : 1440 * partDays[Math.floor(u * partDays.length)]!;
    };
  }
}

/** Effects by name: those that a draw knows, the others drawn from their spread. */
class Named {
  readonly values: Float64Array;
  private readonly keys: number[];
  /** Per draw and name; NaN where the draw does not know it. */
  private readonly known: Float64Array;

  constructor(
    label: string,
    private readonly names: readonly string[],
    draws: readonly Record<string, number>[],
  ) {
    this.values = new Float64Array(names.length);
    this.keys = names.map((name) => keyOf(`${label} ${name}`));
    this.known = new Float64Array(draws.length * names.length);
    draws.forEach((draw, d) => names.forEach((name, k) => (this.known[d * names.length + k] = draw[name] ?? NaN)));
  }

  indexOf(name: string): number {
    return this.names.indexOf(name);
  }

  begin(seed: number, scenario: number, draw: number, deviation: number): void {
    const { values, known, keys } = this;
    for (let k = 0; k < values.length; k++) {
      const value = known[draw * values.length + k]!;
      values[k] = Number.isNaN(value) ? deviation * normalQuantile(uniformFor(seed, keys[k]!, scenario)) : value;
    }
  }
}
