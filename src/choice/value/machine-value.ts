/** What one machine leaves in one future: its sale, its repair and its faults, each with luck of its own. Pure. */
import type { MachineTraits, SellingTerms, Spread } from '../../engine/price/index.js';
import { NEVER } from '../../engine/schedule/index.js';
import { normalCdf, normalQuantile } from '../../engine/statistics/index.js';
import { keyOf, uniformFor } from '../../engine/statistics/random.js';
import type { SaleCurve, SaleCurves } from './sale-curve.js';

/** What is done with a machine that is here already. */
export const treatments = ['asPlanned', 'defer', 'mechanical', 'sellAsFound', 'partOut'] as const;
export type Treatment = (typeof treatments)[number];

export interface PricedMachine {
  /** Of the records that are scheduled: an open job, or a machine seen for sale. */
  jobId: string;
  /** As it is sold when it is finished, and the condition it is in now. */
  traits: MachineTraits & { condition: number };
  conditionNow: number;
  terms: SellingTerms;
  /** Parts and paint still to be paid, and what of that is paint. */
  cash: Spread;
  paintCost: number;
  faults: readonly { name: string; probability: number; cash: Spread; minutes: Spread }[];
  /** Paid for it today, haul and fees among it; 0 for what is here. */
  outlay: number;
  /** What it leaves as it stands where a fault does not pay to repair; null where its faults are known. */
  fallback: number | null;
  /** What its parts are worth. */
  partsWorth: number;
  /** Ready to be sold: no work is left on it. */
  isFinished: boolean;
}

/** How much of what is uncertain about a price is shared by all machines of a kind: a market may be good or bad. Judgement, no source. */
const SHARED_LUCK = 0.4;
/** A machine mended but not painted is sold in a condition a step lower. Common practice, no source. */
const UNPAINTED_STEPS = 1;
/** Taking a machine apart and putting its parts away, in own minutes. Judgement, no source. */
const PART_OUT_MINUTES = 180;

export interface MachineFuture {
  /** What it leaves beyond cash, own time and space; what was paid for it before today does not count. */
  margin: number;
  /** The same without own time and space: money in less money out. */
  cashMargin: number;
  /** Paid out when work on it begins, what is paid today apart. */
  cash: number;
  proceeds: number;
  /** Day from today on which the proceeds come in. */
  soldDay: number;
  minutes: number;
}

export class MachineValue {
  private readonly finished: SaleCurve;
  private readonly unpainted: SaleCurve;
  private readonly asFound: SaleCurve;
  private readonly draws: Luck[] = [];

  constructor(
    readonly machine: PricedMachine,
    curves: SaleCurves,
    private readonly rates: { hourlyValue: number; spacePerDay: number; seed: number },
  ) {
    const { traits, terms, conditionNow } = machine;
    const inCondition = (condition: number): SaleCurve => curves.of({ ...traits, condition }, terms);
    this.finished = inCondition(traits.condition);
    this.unpainted = inCondition(Math.max(1, traits.condition - UNPAINTED_STEPS));
    this.asFound = inCondition(Math.min(traits.condition, conditionNow));
  }

  /** The curve of what it leaves by the day it is finished. */
  get curve(): SaleCurve {
    return this.finished;
  }

  /**
   * @param finish the minute from today's midnight at which it is finished
   * @param workMinutes own work until then, as the schedule has it
   */
  in(future: number, finish: number, workMinutes: number, treatment: Treatment = 'asPlanned'): MachineFuture {
    const { machine, rates } = this;
    const luck = (this.draws[future] ??= this.draw(future));
    if (treatment === 'sellAsFound') {
      const { net, days } = this.asFound.draw(0, luck.sale);
      return this.sum(net, days, 0, 0, 0);
    }
    if (treatment === 'partOut') return this.sum(machine.partsWorth, 0, 0, PART_OUT_MINUTES, 0);
    const unpainted = treatment === 'mechanical';
    const curve = unpainted ? this.unpainted : this.finished;
    const cash = Math.max(0, luck.cash - (unpainted ? machine.paintCost : 0));
    const minutes = workMinutes + luck.minutes;
    const day = finish / 1440;
    // What no day is in sight for is kept as it stands.
    if (finish >= NEVER) return this.sum(machine.fallback ?? 0, 0, 0, 0, 0);
    const time = (minutes / 60) * rates.hourlyValue + rates.spacePerDay * day;
    if (machine.fallback !== null && luck.faulty && curve.meanAt(day) - cash - time < machine.fallback)
      return this.sum(machine.fallback, day, 0, 0, 0);
    const sale = curve.draw(day, luck.sale);
    return this.sum(sale.net, day + sale.days, cash, minutes, day);
  }

  private sum(proceeds: number, soldDay: number, cash: number, minutes: number, days: number): MachineFuture {
    const { machine, rates } = this;
    const cashMargin = proceeds - cash - machine.outlay;
    const time = (minutes / 60) * rates.hourlyValue + rates.spacePerDay * days;
    return { margin: cashMargin - time, cashMargin, cash, proceeds, soldDay, minutes };
  }

  private draw(future: number): Luck {
    const { jobId, traits, faults, cash } = this.machine;
    const uniform = (what: string): number => uniformFor(this.rates.seed, keyOf(what), future);
    const shared = normalQuantile(uniform(`market ${traits.kind}`));
    const own = normalQuantile(uniform(`sale ${jobId}`));
    const present = faults.filter((fault) => uniform(`fault ${jobId} ${fault.name}`) < fault.probability);
    return {
      sale: normalCdf(Math.sqrt(SHARED_LUCK) * shared + Math.sqrt(1 - SHARED_LUCK) * own),
      cash: logNormal(
        {
          mean: present.reduce((sum, fault) => sum + fault.cash.mean, cash.mean),
          deviation: Math.hypot(cash.deviation, ...present.map((fault) => fault.cash.deviation)),
        },
        normalQuantile(uniform(`cash ${jobId}`)),
      ),
      minutes: present.reduce((sum, fault) => sum + fault.minutes.mean, 0),
      faulty: present.length > 0,
    };
  }
}

interface Luck {
  /** Uniform: how well its sale goes. */
  sale: number;
  cash: number;
  /** Own work on faults that nobody has looked for. */
  minutes: number;
  faulty: boolean;
}

/** Of the log-normal distribution with that mean and deviation. */
function logNormal({ mean, deviation }: Spread, z: number): number {
  if (mean <= 0) return 0;
  const s = Math.sqrt(Math.log1p((deviation / mean) ** 2));
  return mean * Math.exp(s * z - (s * s) / 2);
}

/**
 * The most money that is out at any time: what is paid today, what each machine costs when its work begins, and what sales
 * have brought in until then.
 */
export function cashNeeded(flows: readonly { day: number; amount: number }[]): number {
  let balance = 0;
  let worst = 0;
  // On one day what is paid goes before what comes in.
  for (const { amount } of [...flows].sort((a, b) => a.day - b.day || a.amount - b.amount)) {
    balance += amount;
    worst = Math.max(worst, -balance);
  }
  return worst;
}
