import type { Decimal } from 'decimal.js';
import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import { type Amount, parseAmount } from '../money/index.js';

/** A seen price of a similar machine. */
export interface Comparable {
  id?: string;
  kind: string;
  maker?: string | null;
  model?: string | null;
  /** 1 for parts only … 5 as new. */
  condition: number;
  yearEstimate?: number | null;
  clearingWidthMillimetres?: number | null;
  priceKind: 'asking' | 'sold';
  price: Amount;
  /** YYYY-MM-DD */
  seenDate: string;
  distanceKilometres?: Decimal.Value | null;
}

/** The machine to be priced, as it will be when it is sold. */
export interface PricedMachine {
  kind: string;
  maker?: string | null;
  model?: string | null;
  condition: number;
  yearEstimate?: number | null;
  clearingWidthMillimetres?: number | null;
}

/** When in the year a kind of machine is wanted: a bell around a day, over a floor that lasts all year. */
export interface Season {
  /** MM-DD of the strongest demand; for snow throwers about the first snow. */
  peakOn: string;
  /** Standard deviation of the bell; default 45 days. */
  halfWidthDays?: number;
  /** Demand far from the peak as a share of the peak's; default 0.15. */
  offSeasonShare?: number;
}

/** What is believed before the first comparable of a shop is seen, and how fast old and far news fades. */
export interface PriceBeliefs {
  /** Mean and standard deviation of each effect on the natural log of the price. */
  conditionStep: Belief;
  askingPremium: Belief;
  decadeOlder: Belief;
  widthElasticity: Belief;
  season: Belief;
  otherMaker: Belief;
  otherModel: Belief;
  /** Spread of log prices of machines alike in all of the above, and how many observations that belief is worth. */
  spread: { deviation: number; observations: number };
  /** Days after which a comparable counts half. */
  halfLifeDays: number;
  /** Distance at which a comparable counts half. */
  halfDistanceKilometres: number;
  /** What an asking price counts beside a sold one. */
  askingWeight: number;
}

export interface Belief {
  mean: number;
  deviation: number;
}

/**
 * Common practice, no source: a grade of condition is worth about a quarter, an asking price stands a tenth above what
 * is paid, ten years cost a fifth, a wider machine costs nearly in proportion, the season is worth a tenth. They
 * matter only until the shop's own comparables outweigh them.
 */
export const usualBeliefs: PriceBeliefs = {
  conditionStep: { mean: 0.25, deviation: 0.12 },
  askingPremium: { mean: 0.11, deviation: 0.06 },
  decadeOlder: { mean: -0.2, deviation: 0.15 },
  widthElasticity: { mean: 0.8, deviation: 0.4 },
  season: { mean: 0.1, deviation: 0.08 },
  otherMaker: { mean: 0, deviation: 0.15 },
  otherModel: { mean: 0, deviation: 0.1 },
  spread: { deviation: 0.25, observations: 5 },
  halfLifeDays: 730,
  halfDistanceKilometres: 200,
  askingWeight: 0.5,
};

/** The columns of the design beside the constant, in order. */
export const effectNames = [
  'conditionStep',
  'askingPremium',
  'decadeOlder',
  'widthElasticity',
  'season',
  'otherMaker',
  'otherModel',
] as const;

export type EffectName = (typeof effectNames)[number];

/** One comparable as the regression sees it: everything as a difference from the machine to be priced. */
export interface Observation {
  comparable: Comparable;
  logPrice: number;
  differences: number[];
  /** Its count beside a sold price seen today next door. */
  weight: number;
}

/** How near the season's peak a day is, 1 at the peak to 0 far from it (Gaussian in days around the circle of the year). */
export function seasonNearness(season: Season | null, dayNumberOfDate: number): number {
  if (!season) return 0;
  const year = new Date(dayNumberOfDate * 86_400_000).getUTCFullYear();
  // 29 February is 28 February in most years.
  const peak = dayNumber(`${year}-${season.peakOn === '02-29' ? '02-28' : season.peakOn}`, 'season/peakOn');
  const apart = Math.abs(dayNumberOfDate - peak);
  const days = Math.min(apart, 365.25 - apart);
  const width = season.halfWidthDays ?? 45;
  if (!(width > 0))
    throw new EngineError('bad-number', `a season's width is above zero, not ${width}`, 'season/halfWidthDays');
  return Math.exp(-0.5 * (days / width) ** 2);
}

/** Demand on a day as a share of the peak's; 1 all year for a kind without a season. */
export function seasonDemand(season: Season | null, dayNumberOfDate: number): number {
  if (!season) return 1;
  const share = season.offSeasonShare ?? 0.15;
  if (!(share >= 0 && share <= 1))
    throw new EngineError(
      'bad-number',
      `the off-season share lies between 0 and 1, not ${share}`,
      'season/offSeasonShare',
    );
  return share + (1 - share) * seasonNearness(season, dayNumberOfDate);
}

/**
 * Turns the comparables of the same kind into observations, relative to the machine and the day of sale.
 * A detail that a comparable does not state counts as no difference, and the comparable counts a fifth less for each.
 * @throws EngineError `bad-amount` for a price not above zero, `bad-condition` outside 1 to 5, `bad-day`
 */
export function observe(
  machine: PricedMachine,
  comparables: readonly Comparable[],
  days: { sale: number; today: number },
  season: Season | null,
  beliefs: PriceBeliefs,
  currency: string,
): Observation[] {
  const condition = checkedCondition(machine.condition, 'machine/condition');
  const nearness = seasonNearness(season, days.sale);
  return comparables.flatMap((comparable, index) => {
    if (comparable.kind !== machine.kind) return [];
    const path = `comparables/${index}`;
    const price =
      typeof comparable.price === 'string'
        ? parseAmount(comparable.price, currency, `${path}/price`)
        : comparable.price;
    if (!price.isFinite() || !price.greaterThan(0))
      throw new EngineError(
        'bad-amount',
        `a comparable's price is above zero, not ${price.toString()}`,
        `${path}/price`,
      );
    const seen = dayNumber(comparable.seenDate, `${path}/seenDate`);
    const age = bothKnown(comparable.yearEstimate, machine.yearEstimate, (theirs, ours) => (ours - theirs) / 10);
    const width = bothKnown(comparable.clearingWidthMillimetres, machine.clearingWidthMillimetres, (theirs, ours) =>
      theirs > 0 && ours > 0 ? Math.log(theirs / ours) : null,
    );
    const otherMaker = different(comparable.maker, machine.maker);
    const otherModel = otherMaker === 1 ? 1 : different(comparable.model, machine.model);
    const unknown = [age, width].filter((value) => value === null).length;
    const kilometres =
      comparable.distanceKilometres === null || comparable.distanceKilometres === undefined
        ? 0
        : Number(comparable.distanceKilometres);
    if (!(kilometres >= 0))
      throw new EngineError('bad-number', 'a distance is zero or more', `${path}/distanceKilometres`);
    return [
      {
        comparable,
        logPrice: Math.log(price.toNumber()),
        differences: [
          checkedCondition(comparable.condition, `${path}/condition`) - condition,
          comparable.priceKind === 'asking' ? 1 : 0,
          age ?? 0,
          width ?? 0,
          seasonNearness(season, seen) - nearness,
          otherMaker,
          otherModel,
        ],
        weight:
          (0.5 ** (Math.max(0, days.today - seen) / beliefs.halfLifeDays) /
            (1 + (kilometres / beliefs.halfDistanceKilometres) ** 2)) *
          (comparable.priceKind === 'asking' ? beliefs.askingWeight : 1) *
          0.8 ** unknown,
      },
    ];
  });
}

function checkedCondition(condition: number, path: string): number {
  if (!(condition >= 1 && condition <= 5))
    throw new EngineError(
      'bad-condition',
      `a condition lies between 1 (for parts) and 5 (as new), not ${condition}`,
      path,
    );
  return condition;
}

function bothKnown(
  theirs: number | null | undefined,
  ours: number | null | undefined,
  difference: (theirs: number, ours: number) => number | null,
): number | null {
  return theirs === null || theirs === undefined || ours === null || ours === undefined
    ? null
    : difference(theirs, ours);
}

/** 1 when both are stated and differ, 0 when they are the same, half when one is unknown. */
function different(theirs: string | null | undefined, ours: string | null | undefined): number {
  if (!theirs || !ours) return 0.5;
  return theirs.trim().toLowerCase() === ours.trim().toLowerCase() ? 0 : 1;
}
