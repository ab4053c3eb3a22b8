import { Decimal } from 'decimal.js';
import { type Amount, plain, readAmount, readDecimal, roundAmount, total, Wide } from './amount.js';

/** Hands-on time at a value an hour. */
export interface Labour {
  minutes: Decimal.Value;
  hourlyValue: Decimal.Value;
  /** Whether it was paid in wages; the owner's own time is not. */
  isPaidOut?: boolean;
}

/** Everything that went into one job. Ledger amounts may be negative: a reversal, a return. */
export interface JobCostInput {
  /** The machine's share of what its acquisition cost, haul included. */
  acquisitionShare: Amount;
  /** Parts at landed cost (or bin stock at its basis). */
  parts: readonly Amount[];
  consumables: readonly Amount[];
  selling: readonly Amount[];
  other?: readonly Amount[];
  labour: readonly Labour[];
  /** Days in the shop at what a day costs; several where that changed meanwhile. */
  space: SpaceUse | readonly SpaceUse[];
}

export interface SpaceUse {
  days: Decimal.Value;
  costPerDay: Decimal.Value;
}

export interface CostStatement {
  acquisition: Decimal;
  parts: Decimal;
  consumables: Decimal;
  labour: Decimal;
  space: Decimal;
  selling: Decimal;
  other: Decimal;
  /** What was or will be paid to others for this job: everything but the owner's time and the space. */
  cashCost: Decimal;
  /** Cash cost, own time at its hourly value, and the space at its daily cost. */
  fullCost: Decimal;
  /** The owner's own hands-on time. */
  ownMinutes: Decimal;
  paidMinutes: Decimal;
}

/** Value of hands-on time, rounded once to the minor unit: minutes ÷ 60 × hourly value. */
export function labourValue(
  minutes: Decimal.Value,
  hourlyValue: Decimal.Value,
  currency: string,
  path = 'labour',
): Decimal {
  const time = readDecimal(minutes, 'minutes of labour', `${path}/minutes`);
  return roundAmount(time.times(readDecimal(hourlyValue, 'an hourly value', `${path}/hourlyValue`)).div(60), currency);
}

/** Cost of the space a machine took: days × daily cost, rounded once. */
export function spaceCost(days: Decimal.Value, costPerDay: Decimal.Value, currency: string): Decimal {
  const time = readDecimal(days, 'days in the shop', 'space/days');
  return roundAmount(time.times(readDecimal(costPerDay, 'a daily cost', 'space/costPerDay')), currency);
}

/** Cost of fetching something: distance × cost of a kilometre (both ways or one, as the distance counts), rounded once. */
export function haulCost(kilometres: Decimal.Value, costPerKilometre: Decimal.Value, currency: string): Decimal {
  const distance = readDecimal(kilometres, 'a distance', 'haul/kilometres');
  return roundAmount(
    distance.times(readDecimal(costPerKilometre, 'a cost of a kilometre', 'haul/costPerKilometre')),
    currency,
  );
}

/**
 * The cost of one job by kind, in cash and in full.
 *
 * Own time and space are costs of choosing this machine over another, but no money leaves the shop for them: they
 * count in the full cost and not in the cash cost. Paid labour counts in both.
 * @throws EngineError `bad-amount`, `too-many-decimals`, `negative-amount` (acquisition share), `bad-number`
 */
export function costStatement(input: JobCostInput, currency: string): CostStatement {
  const sum = (amounts: readonly Amount[], path: string): Decimal =>
    total(amounts.map((amount, index) => readAmount(amount, currency, `${path}/${index}`, 'any')));
  const acquisition = readAmount(input.acquisitionShare, currency, 'acquisitionShare');
  const parts = sum(input.parts, 'parts');
  const consumables = sum(input.consumables, 'consumables');
  const selling = sum(input.selling, 'selling');
  const other = sum(input.other ?? [], 'other');
  const spaces = Array.isArray(input.space) ? (input.space as readonly SpaceUse[]) : [input.space as SpaceUse];
  const space = total(spaces.map(({ days, costPerDay }) => spaceCost(days, costPerDay, currency)));
  const values = input.labour.map((entry, index) =>
    labourValue(entry.minutes, entry.hourlyValue, currency, `labour/${index}`),
  );
  const labour = total(values);
  const paid = total(values.filter((_, index) => input.labour[index]!.isPaidOut));
  const minutes = (isPaidOut: boolean): Decimal =>
    total(
      input.labour.filter((entry) => Boolean(entry.isPaidOut) === isPaidOut).map((entry) => new Wide(entry.minutes)),
    );
  const cashCost = total([acquisition, parts, consumables, selling, other, paid]);
  return {
    acquisition,
    parts,
    consumables,
    labour,
    space,
    selling,
    other,
    cashCost,
    fullCost: total([cashCost, labour, paid.negated(), space]),
    ownMinutes: minutes(false),
    paidMinutes: minutes(true),
  };
}

/** What a job earned or would earn at some net proceeds. Ratios are plain: 0.25 is 25 %. */
export interface MarginStatement {
  netProceeds: Decimal;
  cashMargin: Decimal;
  fullMargin: Decimal;
  /** Full margin ÷ net proceeds; null when there are none. */
  marginOnPrice: Decimal | null;
  /** Full margin ÷ full cost; null when nothing was spent. */
  markupOnCost: Decimal | null;
  /** Cash margin ÷ the owner's own hours; null without any. */
  earningsPerHour: Decimal | null;
  /** Net proceeds less what the machine itself cost, and as a multiple of it; the multiple is null for a gift. */
  overPurchase: { amount: Decimal; multiple: Decimal | null };
  reasons: string;
}

/**
 * Margin of a job. Margin on price and markup on cost are different ratios of the same difference: 25 % markup is 20 %
 * margin (m ÷ (1 + m)); both are given so that neither is taken for the other.
 * @param netProceeds what a sale leaves after tax (`taxOnSale`), before the shop's own costs
 */
export function marginStatement(cost: CostStatement, netProceeds: Amount, currency: string): MarginStatement {
  const net = readAmount(netProceeds, currency, 'netProceeds');
  const cashMargin = plain(net.minus(cost.cashCost));
  const fullMargin = plain(net.minus(cost.fullCost));
  const hours = new Wide(cost.ownMinutes).div(60);
  const earningsPerHour = hours.isZero() ? null : roundAmount(new Wide(cashMargin).div(hours), currency);
  return {
    netProceeds: net,
    cashMargin,
    fullMargin,
    marginOnPrice: ratio(fullMargin, net),
    markupOnCost: ratio(fullMargin, cost.fullCost),
    earningsPerHour,
    overPurchase: { amount: plain(net.minus(cost.acquisition)), multiple: ratio(net, cost.acquisition) },
    reasons:
      `${net.toFixed()} ${currency} net of tax, less ${cost.cashCost.toFixed()} paid out, leaves ${cashMargin.toFixed()}` +
      (earningsPerHour
        ? ` for ${hours.toDecimalPlaces(1).toFixed()} own hours, ${earningsPerHour.toFixed()} an hour`
        : '') +
      `; with own time and space the cost is ${cost.fullCost.toFixed()} and the margin ${fullMargin.toFixed()}`,
  };
}

function ratio(part: Decimal, whole: Decimal): Decimal | null {
  return whole.greaterThan(0) ? plain(new Wide(part).div(whole).toDecimalPlaces(6)) : null;
}
