/** What a choice leaves, future by future: which machines are bought, what is done with those here, and in which order. Pure. */
import { Decimal } from 'decimal.js';
import { at, lookUp } from '../../engine/look-up.js';
import { NEVER, type Order, Replay, type ReplayList } from '../../engine/schedule/index.js';
import { mean } from '../../engine/selection/index.js';
import type { PlanRecords } from '../../plan/inputs/records.js';
import { READY, simulationOf } from '../../plan/model/uncertainty.js';
import { addDays } from '../../platform/days.js';
import type { Market } from '../../resale/market.js';
import { cashNeeded, type MachineFuture, MachineValue, type PricedMachine, type Treatment } from './machine-value.js';
import { withoutPaint } from './mechanical.js';
import { SaleCurves } from './sale-curve.js';

export interface ScoringQuestion {
  /** With the machines seen for sale among its jobs. */
  records: PlanRecords;
  order: Order;
  machines: PricedMachine[];
  /** Of the jobs, those that are not bought yet. */
  candidateIds: string[];
  /** Jobs promised to somebody: they come first, and no choice may make them late. */
  promisedIds: string[];
  market: Market;
  spacePerDay: number;
  hourlyValue: number;
  seed: number;
  /** Futures that may be asked for. */
  futures: number;
}

export interface Choice {
  bought: readonly string[];
  /** By job; as planned unless said. */
  treatments: Readonly<Record<string, Treatment>>;
  /** In the plan's order with what is bought behind it, by what a day's delay costs, or as named. */
  sequence: 'plan' | 'worth' | readonly string[];
}

export const UNCHANGED: Choice = { bought: [], treatments: {}, sequence: 'plan' };

/** What became of one machine over the futures asked for. */
export interface MachineOutcome {
  jobId: string;
  finish: Float64Array;
  start: Float64Array;
  margin: Float64Array;
  cashMargin: Float64Array;
  proceeds: Float64Array;
}

export interface ChoiceOutcome {
  margin: Float64Array;
  cashMargin: Float64Array;
  cashNeeded: Float64Array;
  /** How many are finished before the first snow, less the margin of days; of those for the snow. */
  ready: Float64Array;
  machines: Map<string, MachineOutcome>;
}

/** Delays over which what a day costs is taken: the dearest counts. */
const DELAY_DAYS = [14, 28, 56];
const FIRST_FUTURES = 8;

export class Scorer {
  readonly openIds: readonly string[];
  private readonly replays = new Map<string, Replay>();
  private readonly values: Map<string, MachineValue>;
  private readonly urgency = new Map<string, number>();
  private readonly deadlines = new Map<string, Float64Array>();
  private readonly work = new Map<string, Float64Array[]>();

  constructor(readonly question: ScoringQuestion) {
    const { records, candidateIds, machines, market, spacePerDay, hourlyValue, seed } = question;
    const candidates = new Set(candidateIds);
    this.openIds = records.jobs.map((job) => job.id).filter((id) => !candidates.has(id));
    const curves = new SaleCurves(market, new Decimal(spacePerDay));
    this.values = new Map(
      machines.map((machine) => [machine.jobId, new MachineValue(machine, curves, { hourlyValue, spacePerDay, seed })]),
    );
  }

  /** Margin over all machines in each future. */
  margins(choice: Choice, from: number, to: number): Float64Array {
    const margin = new Float64Array(to - from);
    this.each(choice, from, to, (k, _, one) => (margin[k] = at(margin, k) + one.margin));
    return margin;
  }

  /** All that becomes of it. */
  outcome(choice: Choice, from: number, to: number): ChoiceOutcome {
    const count = to - from;
    const series = (): Float64Array => new Float64Array(count);
    const outcome: ChoiceOutcome = {
      margin: series(),
      cashMargin: series(),
      cashNeeded: series(),
      ready: series(),
      machines: new Map(),
    };
    const flows: { day: number; amount: number }[][] = Array.from({ length: count }, () => []);
    const outlay = choice.bought.reduce((sum, id) => sum + (this.values.get(id)?.machine.outlay ?? 0), 0);
    for (const future of flows) future.push({ day: 0, amount: -outlay });
    this.each(choice, from, to, (k, jobId, one, finish, start) => {
      let machine = outcome.machines.get(jobId);
      if (!machine) {
        machine = {
          jobId,
          finish: series(),
          start: series(),
          margin: series(),
          cashMargin: series(),
          proceeds: series(),
        };
        outcome.machines.set(jobId, machine);
      }
      machine.finish[k] = finish;
      machine.start[k] = start;
      machine.margin[k] = one.margin;
      machine.cashMargin[k] = one.cashMargin;
      machine.proceeds[k] = one.proceeds;
      outcome.margin[k] = at(outcome.margin, k) + one.margin;
      outcome.cashMargin[k] = at(outcome.cashMargin, k) + one.cashMargin;
      at(flows, k).push({ day: start >= NEVER ? 0 : start / 1440, amount: -one.cash });
      at(flows, k).push({ day: one.soldDay, amount: one.proceeds });
    });
    outcome.cashNeeded.set(flows.map(cashNeeded));
    outcome.ready.set(this.readyIn(choice, from, to));
    return outcome;
  }

  /** The minute of each job's end in each future. */
  finishes(choice: Choice, from: number, to: number): Map<string, Float64Array> {
    const replay = this.replayOf(choice);
    const list = this.listOf(choice, replay);
    const found = new Map(this.workedIds(choice).map((id) => [id, new Float64Array(to - from)]));
    for (let s = from; s < to; s++) {
      const { finish } = replay.run(list, s);
      for (const [id, minutes] of found) minutes[s - from] = at(finish, lookUp(replay.indexOf, id));
    }
    return found;
  }

  /**
   * The most that a machine may add to any set: what it leaves with the shop to itself, on the best of the days from then.
   * Further work never helps the others, and never lets it be done sooner.
   */
  maxGain(jobId: string, futures: number): number {
    const value = this.values.get(jobId);
    if (!value) return 0;
    const finish = this.alone(jobId, futures);
    const work = this.workOf(this.replayOf(UNCHANGED), '');
    let sum = 0;
    for (let s = 0; s < futures; s++) {
      const day = at(finish, s) / 1440;
      sum += value.in(s, at(finish, s), at(work(s), lookUp(this.replayOf(UNCHANGED).indexOf, jobId))).margin;
      if (at(finish, s) < NEVER) sum += value.curve.maxMeanFrom(day) - value.curve.meanAt(day);
    }
    return sum / futures;
  }

  machine(jobId: string): PricedMachine | undefined {
    return this.values.get(jobId)?.machine;
  }

  /** Those that are worked on, in the sequence of a choice: as groups that are planned one after another. */
  groupsOf(choice: Choice): string[][] {
    const deferred = this.openIds.filter((id) => choice.treatments[id] === 'defer');
    const worked = this.workedIds(choice).filter((id) => !deferred.includes(id));
    const byWorth = (ids: readonly string[]): string[] =>
      [...ids].sort((a, b) => this.urgencyOf(b) - this.urgencyOf(a) || (a < b ? -1 : 1));
    const promised = worked.filter((id) => this.question.promisedIds.includes(id));
    const last = deferred.map((id) => [id]);
    if (choice.sequence === 'plan') {
      const bought = new Set(choice.bought);
      return [worked.filter((id) => !bought.has(id)), ...byWorth(choice.bought).map((id) => [id]), ...last];
    }
    const rest = worked.filter((id) => !promised.includes(id));
    const named = choice.sequence === 'worth' ? [] : choice.sequence.filter((id) => rest.includes(id));
    const unnamed = byWorth(rest.filter((id) => !named.includes(id)));
    return [promised, ...[...named, ...unnamed].map((id) => [id]), ...last].filter((group) => group.length > 0);
  }

  private workedIds({ bought, treatments }: Choice): string[] {
    const gone = (id: string): boolean => treatments[id] === 'sellAsFound' || treatments[id] === 'partOut';
    return [...this.openIds.filter((id) => !gone(id)), ...bought];
  }

  private each(
    choice: Choice,
    from: number,
    to: number,
    see: (k: number, jobId: string, one: MachineFuture, finish: number, start: number) => void,
  ): void {
    const replay = this.replayOf(choice);
    const list = this.listOf(choice, replay);
    const key = mechanicalOf(choice).join();
    const work = this.workOf(replay, key);
    const ids = [...this.openIds, ...choice.bought].filter((id) => this.values.has(id));
    const places = ids.map((id) => lookUp(replay.indexOf, id));
    for (let s = from; s < to; s++) {
      const { finish, start } = replay.run(list, s);
      const minutes = work(s);
      ids.forEach((id, k) => {
        const value = lookUp(this.values, id);
        const end = value.machine.isFinished ? 0 : at(finish, at(places, k));
        see(
          s - from,
          id,
          value.in(s, end, minutes[at(places, k)] ?? 0, choice.treatments[id]),
          end,
          value.machine.isFinished ? 0 : at(start, at(places, k)),
        );
      });
    }
  }

  private workOf(replay: Replay, key: string): (future: number) => Float64Array {
    let known = this.work.get(key);
    if (!known) this.work.set(key, (known = []));
    return (future) => (known[future] ??= replay.workMinutes(future));
  }

  private readyIn(choice: Choice, from: number, to: number): Float64Array {
    const count = new Float64Array(to - from);
    const deadline = this.deadline();
    if (!deadline) return count;
    const forSnow = new Set(this.question.records.jobs.filter((job) => job.forSnow).map((job) => job.id));
    for (const [id, minutes] of this.finishes(choice, from, to))
      if (forSnow.has(id))
        for (let k = 0; k < minutes.length; k++)
          if (at(minutes, k) < NEVER && at(minutes, k) <= at(deadline, from + k)) count[k] = at(count, k) + 1;
    return count;
  }

  /** The last minute in each future at which a machine is ready for the snow; null where nothing is known of it. */
  deadline(): Float64Array | null {
    if (!this.question.records.season) return null;
    let known = this.deadlines.get(READY);
    if (!known) this.deadlines.set(READY, (known = this.replayOf(UNCHANGED).deadline(READY)));
    return known;
  }

  private listOf(choice: Choice, replay: Replay): ReplayList {
    return replay.listByGroup(this.groupsOf(choice), this.question.order);
  }

  private replayOf(choice: Choice): Replay {
    const mechanical = mechanicalOf(choice);
    const key = mechanical.join();
    let replay = this.replays.get(key);
    if (!replay) {
      const { records, order, seed, futures } = this.question;
      const { input } = simulationOf(withoutPaint(records, mechanical), order, { scenarios: futures, seed });
      this.replays.set(key, (replay = new Replay(input)));
    }
    return replay;
  }

  private alone(jobId: string, futures: number): Float64Array {
    const replay = this.replayOf(UNCHANGED);
    const list = replay.listByGroup([[jobId]], this.question.order);
    return Float64Array.from({ length: futures }, (_, s) =>
      at(replay.run(list, s).finish, lookUp(replay.indexOf, jobId)),
    );
  }

  /** What a day's delay of it costs for each minute of its work: weighted shortest processing time (Smith 1956, from memory). */
  private urgencyOf(jobId: string): number {
    let known = this.urgency.get(jobId);
    if (known === undefined) {
      const value = this.values.get(jobId);
      const replay = this.replayOf(UNCHANGED);
      const place = lookUp(replay.indexOf, jobId);
      const work = this.workOf(replay, '');
      const minutes = mean(Float64Array.from({ length: FIRST_FUTURES }, (_, s) => at(work(s), place)));
      const day = mean(this.alone(jobId, FIRST_FUTURES).map((minute) => Math.min(minute, 500 * 1440) / 1440));
      const cost = value
        ? Math.max(0, ...DELAY_DAYS.map((delay) => (value.curve.meanAt(day) - value.curve.meanAt(day + delay)) / delay))
        : 0;
      known = (cost + this.question.spacePerDay) / Math.max(1, minutes);
      this.urgency.set(jobId, known);
    }
    return known;
  }
}

const mechanicalOf = ({ treatments }: Choice): string[] =>
  Object.keys(treatments)
    .filter((id) => treatments[id] === 'mechanical')
    .sort();

/** The local day of a number of days from today, rounded up to the end of the day it falls in. */
export const dateOf = (today: string, day: number): string => addDays(today, Math.floor(day));
