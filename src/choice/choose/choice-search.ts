/** Sets of machines with the better of their sequences, their limits, and what can be changed about them. Pure. */
import { at } from '../../engine/look-up.js';
import { difference, mean, quantileOf } from '../../engine/selection/index.js';
import type { Treatment } from '../value/machine-value.js';
import { canGoUnpainted } from '../value/mechanical.js';
import { type Choice, type Scorer, type ScoringQuestion, UNCHANGED } from '../value/scorer.js';
import { shareOf } from './shares.js';

export interface ChooseQuestion extends ScoringQuestion {
  limits: ChoiceLimits;
  /** Candidates' floor space, by id. */
  floorSpace: Record<string, number>;
  /** Whether what is here may be treated otherwise than planned. */
  changesJobs: boolean;
  sizes: ChoiceSizes;
}

/** How many futures are looked at. */
export interface ChoiceSizes {
  /** At first, by every set. */
  first: number;
  /** By those that may still win. */
  race: number;
  /** Fresh ones, for the figures that are told. */
  told: number;
}

export interface ChoiceLimits {
  /** Money that may be out at any time, kept in nine of ten futures. */
  maxCash: number | null;
  /** Machines in the shop at once, those here among them. */
  maxMachines: number | null;
  /** Floor space for what is bought. */
  maxFloorSpace: number | null;
}

export const CHOICE_FUTURES: ChoiceSizes = { first: 24, race: 96, told: 400 };
const SEQUENCE_FUTURES = 48;
/** A treatment is taken when what it gains stands out of chance by so many standard errors. */
export const CLEAR = 2;
/** A promise may lose so much of its chance to be kept by what is bought. Judgement, no source. */
const PROMISE_TOLERANCE = 0.05;
export const CASH_QUANTILE = 0.9;
const SEQUENCE_ROUNDS = 2;

export class ChoiceSearch {
  private readonly chosen = new Map<string, Choice>();
  private readonly promised: Map<string, number>;

  constructor(
    private readonly scorer: Scorer,
    private readonly question: ChooseQuestion,
  ) {
    this.promised = this.promisesKept(UNCHANGED, question.sizes.first);
  }

  /** A set of machines bought, in the plan's order or by worth: whichever leaves more in the first futures. */
  ofSet(items: readonly number[]): Choice {
    const bought = items.map((item) => at(this.question.candidateIds, item));
    const key = bought.join();
    let known = this.chosen.get(key);
    if (!known) {
      known = this.better([
        { bought, treatments: {}, sequence: 'plan' },
        { bought, treatments: {}, sequence: 'worth' },
      ]);
      this.chosen.set(key, known);
    }
    return known;
  }

  isAllowed(items: readonly number[]): boolean {
    const { limits, candidateIds, floorSpace } = this.question;
    const ids = items.map((item) => at(candidateIds, item));
    const sum = (of: (id: string) => number): number => ids.reduce((all, id) => all + of(id), 0);
    return (
      (limits.maxMachines === null || this.scorer.openIds.length + ids.length <= limits.maxMachines) &&
      (limits.maxFloorSpace === null || sum((id) => floorSpace[id] ?? 0) <= limits.maxFloorSpace) &&
      (limits.maxCash === null || sum((id) => this.scorer.machine(id)?.outlay ?? 0) <= limits.maxCash)
    );
  }

  /** Whether promises are kept as well as without it, and the cash suffices. */
  isAcceptable(choice: Choice, futures: number): boolean {
    if (choice.bought.length === 0 && Object.keys(choice.treatments).length === 0 && choice.sequence === 'plan')
      return true;
    for (const [id, share] of this.promisesKept(choice, this.question.sizes.first))
      if (share < (this.promised.get(id) ?? 0) - PROMISE_TOLERANCE) return false;
    const { maxCash } = this.question.limits;
    if (maxCash === null || choice.bought.length === 0) return true;
    const needed = this.scorer.outcome(choice, 0, Math.min(futures, this.question.sizes.race)).cashNeeded;
    return quantileOf(needed, CASH_QUANTILE) <= maxCash;
  }

  /** One change of one job at a time, as long as a change gains clearly. */
  treated(start: Choice): Choice {
    const { race } = this.question.sizes;
    let current = start;
    let values = this.scorer.margins(current, 0, race);
    for (let round = 0; round < this.scorer.openIds.length; round++) {
      let found: { choice: Choice; values: Float64Array; gain: number } | null = null;
      for (const [id, treatment] of this.changes(current)) {
        const choice = { ...current, treatments: { ...current.treatments, [id]: treatment } };
        const changed = this.scorer.margins(choice, 0, race);
        const gain = difference(changed, values);
        if (gain.mean > CLEAR * gain.standardError && gain.mean > (found?.gain ?? 0) && this.isAcceptable(choice, race))
          found = { choice, values: changed, gain: gain.mean };
      }
      if (!found) break;
      ({ choice: current, values } = found);
    }
    return current;
  }

  /** The choice with the machines in a better sequence, by moving one at a time forward. */
  arranged(start: Choice): Choice {
    const value = (choice: Choice): number => mean(this.scorer.margins(choice, 0, SEQUENCE_FUTURES));
    let best = start;
    let reached = value(start);
    let sequence = this.scorer.groupsOf({ ...start, sequence: 'worth' }).flat();
    for (let round = 0; round < SEQUENCE_ROUNDS; round++) {
      let moved = false;
      for (let k = sequence.length - 1; k > 0; k--) {
        const next = [...sequence];
        [next[k - 1], next[k]] = [at(next, k), at(next, k - 1)];
        const choice = { ...start, sequence: next };
        const reachedNow = value(choice);
        if (reachedNow <= reached || !this.isAcceptable(choice, SEQUENCE_FUTURES)) continue;
        best = choice;
        reached = reachedNow;
        sequence = next;
        moved = true;
      }
      if (!moved) break;
    }
    return best;
  }

  private changes(current: Choice): [string, Treatment][] {
    const { records, promisedIds } = this.question;
    return this.scorer.openIds.flatMap((id): [string, Treatment][] => {
      const machine = this.scorer.machine(id);
      if (!machine || machine.isFinished || promisedIds.includes(id) || current.treatments[id]) return [];
      const tasks = records.tasks.filter((task) => task.jobId === id);
      return [
        [id, 'defer'],
        [id, 'sellAsFound'],
        [id, 'partOut'],
        ...(canGoUnpainted(tasks) ? [[id, 'mechanical'] as [string, Treatment]] : []),
      ];
    });
  }

  private better(choices: readonly Choice[]): Choice {
    const value = (choice: Choice): number => mean(this.scorer.margins(choice, 0, this.question.sizes.first));
    return choices
      .map((choice) => ({ choice, value: value(choice) }))
      .reduce((best, one) => (one.value > best.value ? one : best)).choice;
  }

  private promisesKept(choice: Choice, futures: number): Map<string, number> {
    const { promisedIds, records } = this.question;
    const due = new Map(records.jobs.map((job) => [job.id, job.dueDate]));
    if (promisedIds.length === 0) return new Map();
    const finishes = this.scorer.finishes(choice, 0, futures);
    return new Map(
      promisedIds.flatMap((id): [string, number][] => {
        const day = due.get(id);
        const finish = finishes.get(id);
        if (!day || !finish) return [];
        const last = 1440 * (1 + Math.round((Date.parse(day) - Date.parse(records.today)) / 86_400_000));
        return [[id, shareOf(finish, (minute) => minute < last)]];
      }),
    );
  }
}
