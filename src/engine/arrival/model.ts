import { EngineError } from '../error.js';
import { chanceAbove } from './belief.js';
import { dayNumber } from './days.js';
import { beliefFor, learnPool, type Pool, type PooledBelief, type ShopPrior } from './pool.js';
import { backOrderWaits, elapsed, knownOn, leadTimes, slips, type ArrivalLine, type KnownLine } from './record.js';

/** What a shop is taken to know before its first order, each as a normal-inverse-gamma over a log. */
export interface ArrivalPriors {
  /** Days from order to receipt. */
  leadTime: ShopPrior;
  /** Time taken over time promised. */
  slip: ShopPrior;
  /** Days from the notice that there is no date to receipt. */
  backOrderWait: ShopPrior;
  /** Chance that a dated promise tells more than the history of lead times, and what that is worth in promises. */
  promiseTrust: { chance: number; worth: number };
}

/**
 * The stated priors; common practice, no source, and soon outweighed by a shop's own receipts:
 * an ordinary part comes in about 8 days (80 % between 2½ and 25); a promise is passed by a tenth (80 % between half
 * and 2¼ times the time named); a part with no date takes about 24 days more (80 % between 5 and 120); a dated promise
 * is three times as likely as the history to be the better guide. The variance is that within one supplier and family;
 * the 80 % ranges also hold how far suppliers and families differ, and how little is known of the shop.
 */
export const STATED_PRIORS: ArrivalPriors = {
  leadTime: { meanLog: Math.log(8), weight: 0.4, variance: 0.12, freedom: 6 },
  slip: { meanLog: Math.log(1.1), weight: 0.5, variance: 0.06, freedom: 6 },
  backOrderWait: { meanLog: Math.log(24), weight: 0.4, variance: 0.25, freedom: 6 },
  promiseTrust: { chance: 0.75, worth: 4 },
};

/** All that is learnt from a shop's order lines; plain data. */
export interface ArrivalModel {
  asOf: string;
  leadTime: Pool;
  slip: Pool;
  backOrderWait: Pool;
  /** Over the shop, then by supplier: the chance that a dated promise is the better guide. */
  promiseTrust: { shop: number; bySupplier: Record<string, number> };
  /** The same for the record of back-orders against the history of lead times. */
  backOrderTrust: number;
  priors: ArrivalPriors;
}

/**
 * Learns lead times, the slipping of promises and back-order waits from every order line known on `asOf`.
 * Outstanding and cancelled lines count as "at least so long". What happened after `asOf` is not used, so that a past
 * day can be forecast as it would have been then.
 * @throws EngineError `bad_day`, `bad_order`, or `duplicate_line` for two lines with one id
 */
export function learnArrivals(
  lines: readonly ArrivalLine[],
  asOf: string,
  priors: ArrivalPriors = STATED_PRIORS,
): ArrivalModel {
  const day = dayNumber(asOf, 'asOf');
  const ids = new Set<string>();
  const known: KnownLine[] = [];
  lines.forEach((line, k) => {
    if (ids.has(line.id)) throw new EngineError('duplicate_line', `line ${line.id} is given twice`, `lines.${k}.id`);
    ids.add(line.id);
    const then = knownOn(line, day, `lines.${k}.`);
    if (then) known.push(then);
  });
  const pools = {
    leadTime: learnPool(leadTimes(known), priors.leadTime),
    slip: learnPool(slips(known), priors.slip),
    backOrderWait: learnPool(backOrderWaits(known), priors.backOrderWait),
  };
  const { chance, worth } = priors.promiseTrust;
  const contests = known.flatMap((line) => contestsOf(line, pools));
  const dated = contests.filter((c) => c.dated);
  const shop = trust(dated, chance, worth);
  const bySupplier: Record<string, number> = {};
  for (const supplierId of new Set(dated.map((c) => c.supplierId))) {
    bySupplier[supplierId] = trust(dated.filter((c) => c.supplierId === supplierId), shop, worth);
  }
  return {
    asOf,
    ...pools,
    promiseTrust: { shop, bySupplier },
    backOrderTrust: trust(contests.filter((c) => !c.dated), chance, worth),
    priors,
  };
}

type Pools = Pick<ArrivalModel, 'leadTime' | 'slip' | 'backOrderWait'>;

/** One belief about a wait: counted from day `from`, in units of `unit` days. */
export interface Guide {
  kind: 'history' | 'promise' | 'backOrder';
  from: number;
  unit: number;
  pooled: PooledBelief;
}

/** Chance, under one guide, that the goods come on or after `day`. */
export function chanceFrom(guide: Guide, day: number): number {
  const days = day - guide.from;
  return days <= 0 ? 1 : chanceAbove(guide.pooled.predictive, Math.log(days / guide.unit));
}

/** The history of lead times as a guide to a line, leaving the line itself out of it. */
export function historyGuide(pools: Pools, line: KnownLine): Guide {
  const pooled = beliefFor(pools.leadTime, line.supplierId, line.family, line.id);
  return { kind: 'history', from: line.ordered, unit: 1, pooled };
}

/** What the supplier said on one day as a guide to the line, leaving the line itself out of the record. */
export function wordGuide(pools: Pools, line: KnownLine, word: KnownLine['promises'][number]): Guide {
  if (word.promised === null) {
    const pooled = beliefFor(pools.backOrderWait, line.supplierId, line.family, line.id);
    return { kind: 'backOrder', from: word.stated, unit: 1, pooled };
  }
  const pooled = beliefFor(pools.slip, line.supplierId, '', line.id);
  return { kind: 'promise', from: word.stated, unit: elapsed(word.promised - word.stated), pooled };
}

interface Contest {
  supplierId: string;
  dated: boolean;
  /** Chance that each guide gave, on the day the word was spoken, to the day on which the goods did come. */
  word: number;
  history: number;
}

function contestsOf(line: KnownLine, pools: Pools): Contest[] {
  const { received } = line;
  if (received === null) return [];
  const history = historyGuide(pools, line);
  return line.promises.map((word) => ({
    supplierId: line.supplierId,
    dated: word.promised !== null,
    word: chanceOfDay(wordGuide(pools, line, word), received, word.stated),
    history: chanceOfDay(history, received, word.stated),
  }));
}

function chanceOfDay(guide: Guide, day: number, outstandingOn: number): number {
  return (chanceFrom(guide, day) - chanceFrom(guide, day + 1)) / chanceFrom(guide, outstandingOn);
}

/**
 * Mixing weight of the word against the history: the likeliest under a beta prior of mean `start` worth `worth`
 * contests, by expectation-maximisation.
 */
function trust(contests: readonly Contest[], start: number, worth: number): number {
  let weight = start;
  for (let round = 0; round < 50; round++) {
    const won = contests.reduce((sum, { word, history }) => {
      const both = weight * word + (1 - weight) * history;
      return sum + (both > 0 ? (weight * word) / both : weight);
    }, 0);
    weight = (start * worth + won) / (worth + contests.length);
  }
  return weight;
}
