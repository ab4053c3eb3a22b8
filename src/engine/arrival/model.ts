import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import { last } from '../look-up.js';
import { combine, type Predictive, predictiveQuantile, probabilityAbove } from './belief.js';
import { beliefFor, learnPool, type Pool, type PooledBelief, type ShopPrior } from './pool.js';
import { type ArrivalLine, backOrderWaits, elapsed, type KnownLine, knownOn, leadTimes, slips } from './record.js';

/** What a shop is taken to know before its first order, each as a normal-inverse-gamma over a log. */
export interface ArrivalPriors {
  /** Days from order to receipt. */
  leadTime: ShopPrior;
  /** Time taken over time promised. */
  slip: ShopPrior;
  /** Days from the notice that there is no date to receipt. */
  backOrderWait: ShopPrior;
  /** How a forecast is shared between guides before any promise was put to the test, and what that is worth in tests. */
  dated: Shares;
  undated: Shares;
  worth: number;
  /** Chance, before a date is named, that the goods are not in stock, so that ordinary lead times say nothing of them. */
  outOfStock: number;
}

/**
 * The stated priors; common practice, no source, and soon outweighed by a shop's own receipts: an ordinary part comes
 * in about 8 days (80 % between 2½ and 25); a promise is passed by a tenth (80 % between half and 2¼ times the time
 * named); a part with no date takes about 24 days more (80 % between 5 and 120); with a promise, promise and history
 * together are as likely to guide best as either alone; one line in five is for goods not in stock. The variance is
 * that within one supplier and family; the 80 % ranges also hold how far suppliers and families differ, and how little
 * is known of the shop.
 */
export const STATED_PRIORS: ArrivalPriors = {
  leadTime: { meanLog: Math.log(8), weight: 0.4, variance: 0.12, freedom: 6 },
  slip: { meanLog: Math.log(1.1), weight: 0.5, variance: 0.06, freedom: 6 },
  backOrderWait: { meanLog: Math.log(24), weight: 0.4, variance: 0.25, freedom: 6 },
  dated: { history: 0.25, promise: 0.25, both: 0.5 },
  undated: { history: 0.25, backOrder: 0.75 },
  worth: 4,
  outOfStock: 0.2,
};

/** All that is learnt from a shop's order lines; plain data. */
export interface ArrivalModel {
  asOf: string;
  leadTime: Pool;
  slip: Pool;
  backOrderWait: Pool;
  /** How a forecast under a dated promise is shared between guides: over the shop, then by supplier. */
  dated: { shop: Shares; bySupplier: Record<string, Shares> };
  /** The same for a line without a date. */
  undated: Shares;
  priors: ArrivalPriors;
}

/**
 * Learns lead times, the slipping of promises and back-order waits from every order line known on `asOf`.
 * Outstanding and cancelled lines count as "at least so long". What happened after `asOf` is not used, so that a past
 * day can be forecast as it would have been then.
 * @throws EngineError `bad-day`, `bad-order`, or `duplicate-line` for two lines with one id
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
    if (ids.has(line.id)) throw new EngineError('duplicate-line', `line ${line.id} is given twice`, `lines.${k}.id`);
    ids.add(line.id);
    const then = knownOn(line, day, `lines.${k}.`);
    if (then) known.push(then);
  });
  const pools = {
    leadTime: learnPool(leadTimes(known), priors.leadTime),
    slip: learnPool(slips(known), priors.slip),
    backOrderWait: learnPool(backOrderWaits(known), priors.backOrderWait),
    priors,
  };
  const tests = testsOf(known, pools);
  const dated = tests.filter((test) => test.dated);
  const shop = shareOut(dated, priors.dated, priors.worth);
  const bySupplier: Record<string, Shares> = {};
  for (const supplierId of new Set(dated.map((test) => test.supplierId))) {
    bySupplier[supplierId] = shareOut(
      dated.filter((test) => test.supplierId === supplierId),
      shop,
      priors.worth,
    );
  }
  const undated = shareOut(
    tests.filter((test) => !test.dated),
    priors.undated,
    priors.worth,
  );
  return { asOf, ...pools, dated: { shop, bySupplier }, undated };
}

type Pools = Pick<ArrivalModel, 'leadTime' | 'slip' | 'backOrderWait' | 'priors'>;

type GuideKind = 'history' | 'promise' | 'both' | 'backOrder';

/** Shares of guides in a forecast; they add up to 1. */
export type Shares = Partial<Record<GuideKind, number>>;

/** One belief about a wait: counted from day `from`, in units of `unit` days. */
export interface Guide {
  kind: GuideKind;
  from: number;
  unit: number;
  predictive: Predictive;
  pooled: PooledBelief;
  /** For `both`: how much of it is the promise's, by precision. */
  promisePull?: number;
  /** For `both`: whether the date that was named and the history tell of one thing. */
  concord?: Concord;
}

/** How far a date that was named is such as ordinary lead times give. */
export interface Concord {
  probability: number;
  /** Which guides speak where it is not: the promise alone of a later date, either by itself of a sooner one. */
  instead: GuideKind[];
}

/** Chance, under one guide, that the goods come on or after `day`. */
export function probabilityFrom(guide: Guide, day: number): number {
  const days = day - guide.from;
  return days <= 0 ? 1 : probabilityAbove(guide.predictive, Math.log(days / guide.unit));
}

type Word = KnownLine['promises'][number];

/**
 * The guides to a line under the supplier's word, if any, the line itself left out of what they rest on: the history of
 * lead times; what dated promises, or notices without a date, have turned into; and promise and history together.
 */
export function componentsFor(pools: Pools, line: KnownLine, word?: Word): Guide[] {
  const { supplierId, family, id } = line;
  const history = guide('history', line.ordered, 1, beliefFor(pools.leadTime, supplierId, family, id));
  if (!word) return [history];
  if (word.promised === null) {
    return [history, guide('backOrder', word.stated, 1, beliefFor(pools.backOrderWait, supplierId, family, id))];
  }
  // A supplier's word is judged over all it sells, as in the record of slips.
  const promise = guide(
    'promise',
    word.stated,
    elapsed(word.promised - word.stated),
    beliefFor(pools.slip, supplierId, '', id),
  );
  const timeLeft = logTimeLeft(history, word.stated);
  // The promise as a guess at the wait, made in error independent of it: the time left by the history is a second estimate.
  const both = combine(promise.predictive, { meanLog: timeLeft.meanLog - Math.log(promise.unit), sd: timeLeft.sd });
  const ours = averagePrecision(promise.predictive);
  return [
    history,
    promise,
    {
      ...promise,
      kind: 'both',
      predictive: both.predictive,
      promisePull: ours / (ours + timeLeft.sd ** -2),
      concord: {
        probability: logistic(
          Math.log(1 / pools.priors.outOfStock - 1) + both.logSupport - Math.log(2 * Math.PI) / 2 - LOG_DENSITY_OF_ANY,
        ),
        // Goods that are not in stock only take longer: of a sooner date it is open whether it or the history is to be believed.
        instead: timeLeft.meanLog > Math.log(promise.unit) ? ['history', 'promise'] : ['promise'],
      },
    },
  ];
}

/** Goods that are not in stock may be promised for any day from now to two years on, as likely for twice the time as for once. */
const LOG_DENSITY_OF_ANY = -Math.log(Math.log(730 / 0.5));

const logistic = (log: number): number => 1 / (1 + Math.exp(-log));

/**
 * Shares of the guides under one word. Two estimates may be multiplied only where they tell of one thing. A date far
 * beyond ordinary lead times is one of goods that are not in stock, of which those times say nothing; a date far sooner
 * leaves history and promise beside each other.
 */
export function sharesUnder(shares: Shares, components: readonly Guide[]): Shares {
  const concord = last(components).concord;
  if (!concord) return shares;
  const { probability, instead } = concord;
  const rest = instead.reduce((sum, kind) => sum + shares[kind]!, 0);
  return Object.fromEntries(
    (Object.keys(shares) as GuideKind[]).map((kind) => [
      kind,
      shares[kind]! * (probability + (instead.includes(kind) ? (1 - probability) / rest : 0)),
    ]),
  );
}

function guide(kind: GuideKind, from: number, unit: number, pooled: PooledBelief): Guide {
  return { kind, from, unit, pooled, predictive: pooled.predictive };
}

/** The log of the days left from `day` on as a normal, on the condition that the goods had not come before. */
function logTimeLeft(history: Guide, day: number): { meanLog: number; sd: number } {
  const { nodes } = history.predictive;
  const passed = day - history.from;
  if (passed === 0) {
    const meanLog = nodes.reduce((sum, node) => sum + node.probability * node.meanLog, 0);
    return { meanLog, sd: averagePrecision(history.predictive) ** -0.5 };
  }
  const out = probabilityFrom(history, day);
  const leftAt = (p: number) =>
    Math.log(Math.max(Math.exp(predictiveQuantile(history.predictive, 1 - (1 - p) * out)) - passed, 0.01));
  // 2.563 standard deviations of a normal lie between its tenth and its ninetieth percentile.
  return { meanLog: leftAt(0.5), sd: Math.max((leftAt(0.9) - leftAt(0.1)) / 2.563, 0.01) };
}

function averagePrecision({ nodes }: Predictive): number {
  return nodes.reduce((sum, node) => sum + node.probability * node.scale ** -2, 0);
}

/** A past word put to the test: the chance that each guide, on the day of the word, gave to the day the goods came. */
interface Test {
  supplierId: string;
  dated: boolean;
  probabilities: Shares;
  components: readonly Guide[];
}

// More tests than this would sharpen nothing that matters, and old ones say little of a supplier's present ways.
const MOST_TESTS = 60;

function testsOf(lines: readonly KnownLine[], pools: Pools): Test[] {
  return lines
    .flatMap((line) => {
      const { received, promises } = line;
      return received === null ? [] : promises.map((word) => ({ line, word, came: received }));
    })
    .sort((a, b) => b.word.stated - a.word.stated)
    .slice(0, MOST_TESTS)
    .map(({ line, word, came }) => {
      const probabilities: Shares = {};
      const components = componentsFor(pools, line, word);
      for (const g of components) {
        probabilities[g.kind] =
          (probabilityFrom(g, came) - probabilityFrom(g, came + 1)) / probabilityFrom(g, word.stated);
      }
      return { supplierId: line.supplierId, dated: word.promised !== null, probabilities, components };
    });
}

/**
 * Shares of a mixture of guides: the likeliest under a Dirichlet prior of mean `start` worth `worth` tests, by
 * expectation-maximisation.
 */
function shareOut(tests: readonly Test[], start: Shares, worth: number): Shares {
  const kinds = Object.keys(start) as GuideKind[];
  let shares = start;
  for (let round = 0; round < 50; round++) {
    const won = Object.fromEntries(kinds.map((kind) => [kind, start[kind]! * worth]));
    for (const { probabilities, components } of tests) {
      const under = sharesUnder(shares, components);
      const all = kinds.reduce((sum, kind) => sum + under[kind]! * (probabilities[kind] ?? 0), 0);
      // Where history and date told of two things, the test says little of the shares that they have when they agree.
      const concord = last(components).concord?.probability ?? 1;
      for (const kind of kinds)
        won[kind]! += all > 0 ? (concord * shares[kind]! * (probabilities[kind] ?? 0)) / all : shares[kind]!;
    }
    const whole = kinds.reduce((sum, kind) => sum + won[kind]!, 0);
    shares = Object.fromEntries(kinds.map((kind) => [kind, won[kind]! / whole]));
  }
  return shares;
}
