import { dayNumber, isoDay } from '../days.js';
import { EngineError } from '../error.js';
import { last, required } from '../look-up.js';
import { predictiveQuantile } from './belief.js';
import { type ArrivalModel, componentsFor, type Guide, probabilityFrom, sharesUnder } from './model.js';
import { type ArrivalLine, type KnownLine, knownOn } from './record.js';

/** No forecast looks further ahead than this; what lies beyond is reported as a chance. */
export const HORIZON_DAYS = 730;

/** One of the guides that a forecast mixes. */
export interface ForecastPart {
  kind: 'history' | 'promise' | 'backOrder';
  /** Share in the forecast, after the wait so far has been taken into account. */
  share: number;
  /** Receipts of this supplier (and, for history and back-orders, family) that it rests on; 0 means the prior alone. */
  receipts: number;
  /** Lines still out that were used as "at least so long". */
  outstanding: number;
}

/** When an outstanding line will come, given that it has not come before `asOf`. */
export interface ArrivalForecast {
  lineId: string;
  asOf: string;
  waitedDays: number;
  /** First day by which it has come with that chance; null when that lies beyond the horizon. */
  p50Date: string | null;
  p80Date: string | null;
  p95Date: string | null;
  /** Chance that it has come by the end of day `asOf` + k, for k = 0, 1, 2, …; rising. */
  probabilityByOffset: number[];
  /** Chance that it has not come HORIZON_DAYS after `asOf`. */
  probabilityBeyondHorizon: number;
  parts: ForecastPart[];
  /** The few facts that drive the answer, as sentences. */
  reasons: string[];
}

/**
 * Forecasts a line that is still outstanding on `asOf` (it may still come that day).
 *
 * The supplier's latest word, the history of lead times, and the two together each have the share that the record has
 * earned them, from the day the word was given; where that word names a date far beyond ordinary lead times, history
 * loses its share to the promise, by how much likelier such a date is for goods that are not in stock (`sharesUnder`);
 * then each is conditioned on the wait since. A promise long past so loses its say by itself. A line that is not yet
 * ordered can be asked about with `orderedDate` = `asOf`. Where the latest word is that there is no date any more, the
 * chance of having come by a day is never above what it would be had the last date been left standing (first-order
 * stochastic dominance, taken day by day). Lines are forecast one by one: that parcels of one order travel together is
 * left to the caller, who can sample them with the same number.
 * @throws EngineError `not-outstanding` if the line had come, was cancelled or was not ordered by `asOf`;
 *   `bad-day`, `bad-order`
 */
export function forecastArrival(model: ArrivalModel, line: ArrivalLine, asOf: string): ArrivalForecast {
  const today = dayNumber(asOf, 'asOf');
  const known = knownOn(line, today);
  if (!known) throw new EngineError('not-outstanding', `line ${line.id} is not ordered before ${line.orderedDate}`);
  if (known.received !== null || known.openSince < today) {
    throw new EngineError('not-outstanding', `line ${line.id} no longer waits on ${asOf}`);
  }
  const word = known.promises.at(-1);
  const told = mixtureUnder(model, known, word, today);
  const { components, open } = told;
  // To take back a date is no promise of an earlier one: the wait is at least what it was under the last date named.
  const lastDate = word?.promised === null ? known.promises.findLast((one) => one.promised !== null) : undefined;
  const asPromised = lastDate && mixtureUnder(model, known, lastDate, today);
  const outstandingAfter = (days: number) =>
    Math.max(told.outstandingAfter(days), asPromised?.outstandingAfter(days) ?? 0);
  const { probabilityByOffset, probabilityBeyondHorizon } = cumulate(outstandingAfter);
  const parts = partsOf(
    components.map(({ guide, weight }) => ({ guide, share: (weight * probabilityFrom(guide, today)) / open })),
  );
  const guideOf = (kind: ForecastPart['kind']) =>
    required(
      components.find(({ guide }) => guide.kind === kind),
      `component ${kind}`,
    ).guide;
  const partial = { lineId: line.id, asOf, probabilityByOffset };
  return {
    ...partial,
    waitedDays: today - known.ordered,
    p50Date: arrivalQuantile(partial, 0.5),
    p80Date: arrivalQuantile(partial, 0.8),
    p95Date: arrivalQuantile(partial, 0.95),
    probabilityBeyondHorizon,
    parts,
    reasons: [
      ...parts.map((part) => sentence(guideOf(part.kind), part)),
      ...promiseHistory(known.promises, today),
      ...discord(last(components).guide),
      ...(asPromised
        ? [
            'A date that is taken back makes nothing come sooner: on every day the ' +
              'later of the two forecasts, with and without it, counts.',
          ]
        : []),
      `Waited ${today - known.ordered} days so far; only days from ${asOf} on are possible.`,
    ],
  };
}

/** What the guides under one word of the supplier, or under none, say together of a line that is out on `today`. */
function mixtureUnder(
  model: ArrivalModel,
  known: KnownLine,
  word: KnownLine['promises'][number] | undefined,
  today: number,
) {
  const found = componentsFor(model, known, word);
  const shares = sharesUnder(
    !word
      ? { history: 1 }
      : word.promised === null
        ? model.undated
        : (model.dated.bySupplier[known.supplierId] ?? model.dated.shop),
    found,
  );
  const components = found.map((guide) => ({
    guide,
    weight: shares[guide.kind]! / probabilityFrom(guide, word?.stated ?? known.ordered),
  }));
  const outOn = (day: number) =>
    components.reduce((sum, { guide, weight }) => sum + weight * probabilityFrom(guide, day), 0);
  const open = outOn(today);
  return { components, open, outstandingAfter: (days: number) => outOn(today + days) / open };
}

/** The guides as they are told: what promise and history say together is divided between the two by precision. */
function partsOf(components: readonly { guide: Guide; share: number }[]): ForecastPart[] {
  const both = components.find(({ guide }) => guide.kind === 'both');
  return components.flatMap(({ guide: { kind, pooled }, share }): ForecastPart[] => {
    if (kind === 'both') return [];
    const pull = both?.guide.promisePull ?? 0;
    const joint = both ? both.share * (kind === 'promise' ? pull : 1 - pull) : 0;
    return [{ kind, share: share + joint, receipts: pooled.receipts, outstanding: pooled.outstanding }];
  });
}

/** Under one in ten thousand the tail is cut, and the last day named takes it. */
const CUT = 1e-4;

/**
 * @param outstandingAfter chance that the line is still out so many whole days after the day of asking
 * @returns the cumulative chances by day: each of the first 60 days exactly, then weeks with straight lines between
 */
function cumulate(outstandingAfter: (days: number) => number) {
  const probabilityByOffset: number[] = [];
  let left = 1;
  while (probabilityByOffset.length <= HORIZON_DAYS && left > CUT) {
    const from = probabilityByOffset.length;
    const step = Math.min(from < 60 ? 1 : 7, HORIZON_DAYS + 1 - from);
    const next = Math.min(left, outstandingAfter(from + step));
    for (let k = 1; k <= step; k++) probabilityByOffset.push(1 - (left + ((next - left) * k) / step));
    left = next;
  }
  if (left > CUT) return { probabilityByOffset, probabilityBeyondHorizon: left };
  probabilityByOffset[probabilityByOffset.length - 1] = 1;
  return { probabilityByOffset, probabilityBeyondHorizon: 0 };
}

type Distribution = Pick<ArrivalForecast, 'asOf' | 'probabilityByOffset'>;

/** First day by which the line has come with chance `p`, 0 ≤ p < 1; null when that lies beyond the horizon. */
export function arrivalQuantile(forecast: Distribution, p: number): string | null {
  const k = firstAtLeast(forecast.probabilityByOffset, p);
  return k < 0 ? null : isoDay(dayNumber(forecast.asOf) + k);
}

/** Chance that the line has come by the end of `day`. */
export function probabilityByDate(forecast: Distribution, day: string): number {
  const k = dayNumber(day, 'day') - dayNumber(forecast.asOf);
  return k < 0 ? 0 : forecast.probabilityByOffset[Math.min(k, forecast.probabilityByOffset.length - 1)]!;
}

/**
 * An arrival as a number of days after `asOf`, for simulation: the inverse of the forecast at a uniform number.
 * What lies beyond the horizon comes on the day after it.
 * @param uniform from 0 up to but not including 1, from the caller's seeded generator
 */
export function sampleArrivalOffset(forecast: Distribution, uniform: number): number {
  const k = firstAtLeast(forecast.probabilityByOffset, uniform);
  return k < 0 ? HORIZON_DAYS + 1 : k;
}

/** Index of the first chance that is at least `p`, or −1. */
function firstAtLeast(probabilities: readonly number[], p: number): number {
  if (!(p >= 0 && p <= 1)) throw new EngineError('out-of-range', `${p} is not a chance`);
  let low = 0;
  let high = probabilities.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (probabilities[middle]! >= p) high = middle;
    else low = middle + 1;
  }
  return low < probabilities.length ? low : -1;
}

function sentence(guide: Guide, part: ForecastPart): string {
  const { predictive, receipts, outstanding } = guide.pooled;
  const median = Math.exp(predictiveQuantile(predictive, 0.5));
  const typical = median * guide.unit;
  const range = [0.1, 0.9].map((p) => days(Math.exp(predictiveQuantile(predictive, p)) * guide.unit));
  const rests =
    receipts + outstanding === 0
      ? 'no receipts of its own yet, so the rest of the shop speaks'
      : `${count(receipts, 'receipt')}${outstanding ? ` and ${count(outstanding, 'line')} still out` : ''}`;
  const share = `${Math.round(part.share * 100)} % of the forecast`;
  if (guide.kind === 'promise') {
    return (
      `Promise (${share}): this supplier typically takes ${median.toFixed(1)} times the time it names (${rests}); ` +
      `so about ${days(typical)} days from when it was stated, 80 % within ${range.join('–')}.`
    );
  }
  const what = guide.kind === 'backOrder' ? 'Back-order without a date' : 'Lead time of this supplier and family';
  const since = guide.kind === 'backOrder' ? 'from the notice' : 'from the order';
  return `${what} (${share}): about ${days(typical)} days ${since}, 80 % within ${range.join('–')} (${rests}).`;
}

function promiseHistory(promises: readonly { stated: number; promised: number | null }[], today: number): string[] {
  const latest = promises.at(-1);
  if (!latest) return [];
  const moved = promises.length - 1;
  const now = latest.promised === null ? 'there is no date now' : `now ${isoDay(latest.promised)}`;
  const late = latest.promised !== null && latest.promised < today ? ', and that day has passed' : '';
  return [
    moved
      ? `The promise has changed ${moved === 1 ? 'once' : `${moved} times`}; ${now}${late}.`
      : `Promise: ${now}${late}.`,
  ];
}

function discord({ concord }: Guide): string[] {
  if (!concord || concord.probability > 0.5) return [];
  return [
    concord.instead.includes('history')
      ? 'The date named lies far before what ordinary lead times give: either may hold, so they stand beside each other.'
      : 'The date named lies far beyond ordinary lead times, as for goods that are not in stock, so it counts for itself.',
  ];
}

function count(n: number, what: string): string {
  return `${n} ${what}${n === 1 ? '' : 's'}`;
}

function days(n: number): string {
  return n < 10 ? n.toFixed(1) : n.toFixed(0);
}
