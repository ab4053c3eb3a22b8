/** What a machine leaves by the day on which it is finished: every way its sale may end, drawn from. Pure. */
import { Decimal } from 'decimal.js';
import { at } from '../../engine/look-up.js';
import { roundAmount } from '../../engine/money/index.js';
import { type MachineTraits, netFunction, planAsk, type SellingTerms } from '../../engine/price/index.js';
import { addDays } from '../../platform/days.js';
import { deadlineFor, demandOf, estimateOf, type Market, nextSeason } from '../../resale/market.js';

/** Days from today on which a sale is planned; between two of them a sale lies between theirs. */
const GRID_DAYS = [0, 14, 35, 63, 98, 140, 196, 260, 330, 420, 500];
/** Machines whose price is known about as well, to this in the log of the price, share their plans to sell, scaled. */
const SPREAD_STEP = 0.05;
/** Standard deviations between the 10 % and the 90 % quantile. */
const P10_TO_P90 = 2.5631;

export interface SaleDraw {
  /** After tax, selling and the space while on offer. */
  net: number;
  /** On offer until then. */
  days: number;
}

/** Ends of a sale from the least net to the greatest. */
interface SalePoint {
  nets: Float64Array;
  days: Float64Array;
  cumulative: Float64Array;
  mean: number;
}

interface SellingPlan {
  /** The median price that it was made for. */
  middle: number;
  endings: { price: number | null; net: number; weeks: number; probability: number }[];
  holdingPerWeek: number;
}

const plansOf = new WeakMap<Market, Map<string, SellingPlan>>();

/** Plans to sell, made when first asked for and shared between machines of a kind. */
export class SaleCurves {
  private readonly plans: Map<string, SellingPlan>;

  constructor(
    readonly market: Market,
    readonly spacePerDay: Decimal,
  ) {
    this.plans = plansOf.get(market) ?? new Map<string, SellingPlan>();
    plansOf.set(market, this.plans);
  }

  /** @param machine as it is sold */
  of(machine: MachineTraits, terms: SellingTerms): SaleCurve {
    const net = netFunction(terms, this.market.currency);
    return new SaleCurve((k) => this.point(machine, terms, net, at(GRID_DAYS, k)));
  }

  private point(machine: MachineTraits, terms: SellingTerms, net: (price: number) => number, day: number): SalePoint {
    const { market, spacePerDay } = this;
    const listFrom = addDays(market.today, day);
    const estimate = estimateOf(market, machine, listFrom);
    const middle = estimate.p50.toNumber();
    const spread = Math.log(estimate.p90.toNumber() / Math.max(1e-9, estimate.p10.toNumber())) / P10_TO_P90;
    const key = `${machine.kind} ${day} ${Math.round(spread / SPREAD_STEP)} ${spacePerDay.toFixed()}`;
    let plan = this.plans.get(key);
    if (!plan) {
      const made = planAsk({
        estimate,
        listFrom,
        deadline: deadlineFor(market, machine.kind, listFrom),
        terms,
        holdingCostPerWeek: roundAmount(spacePerDay.times(7), market.currency),
        unsold: nextSeason(spacePerDay, market.currency),
        demand: demandOf(market, machine.kind),
      });
      plan = { middle, endings: made.endings, holdingPerWeek: made.holdingCostPerWeek };
      this.plans.set(key, plan);
    }
    const scale = middle / plan.middle;
    const ends = plan.endings
      .map(({ price, net: worth, weeks, probability }) => ({
        net: (price === null ? worth * scale : net(price * scale)) - plan.holdingPerWeek * weeks,
        days: 7 * weeks,
        probability,
      }))
      .sort((a, b) => a.net - b.net);
    let sum = 0;
    const cumulative = Float64Array.from(ends, (one) => (sum += one.probability));
    return {
      nets: Float64Array.from(ends, (one) => one.net),
      days: Float64Array.from(ends, (one) => one.days),
      cumulative,
      mean: ends.reduce((all, one) => all + one.probability * one.net, 0) / (sum || 1),
    };
  }
}

/** By the day, from today, on which the machine is first on offer. */
export class SaleCurve {
  private readonly points: (SalePoint | undefined)[] = [];

  constructor(private readonly make: (k: number) => SalePoint) {}

  /** @param luck of this sale, uniform between 0 (the worst end) and 1 */
  draw(day: number, luck: number): SaleDraw {
    const [k, share] = placeOf(day);
    const before = drawn(this.at(k), luck);
    if (share === 0) return before;
    const after = drawn(this.at(k + 1), luck);
    return {
      net: before.net + share * (after.net - before.net),
      days: before.days + share * (after.days - before.days),
    };
  }

  meanAt(day: number): number {
    const [k, share] = placeOf(day);
    const before = this.at(k).mean;
    return share === 0 ? before : before + share * (this.at(k + 1).mean - before);
  }

  /** The most it is worth on average from a day on, on the days that sales are planned for. */
  maxMeanFrom(day: number): number {
    return Math.max(this.meanAt(day), ...GRID_DAYS.filter((one) => one > day).map((one) => this.meanAt(one)));
  }

  private at(k: number): SalePoint {
    return (this.points[k] ??= this.make(k));
  }
}

/** The grid's day at or before a day, and how far the day lies towards the next. */
function placeOf(day: number): [number, number] {
  const last = GRID_DAYS.length - 1;
  const within = Math.min(Math.max(0, day), at(GRID_DAYS, last));
  let k = last;
  while (at(GRID_DAYS, k) > within) k -= 1;
  return k === last ? [k, 0] : [k, (within - at(GRID_DAYS, k)) / (at(GRID_DAYS, k + 1) - at(GRID_DAYS, k))];
}

function drawn({ nets, days, cumulative }: SalePoint, luck: number): SaleDraw {
  let low = 0;
  let high = cumulative.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (at(cumulative, middle) < luck) low = middle + 1;
    else high = middle;
  }
  return { net: at(nets, low), days: at(days, low) };
}
