/**
 * Amounts on their way to a thread and back: the structured clone refuses them. Pure.
 */
import { Decimal } from 'decimal.js';

/** No record of ours has a field of this name. */
const MARK = '#amount';

/** Plain data in which each amount has become `{ '#amount': '12.50' }`; the rest is taken over as it is. */
export function amountsPacked(value: unknown): unknown {
  return mapped(value, (one) => (Decimal.isDecimal(one) ? { [MARK]: one.toString() } : undefined));
}

/** What `amountsPacked` made, with its amounts again. */
export function amountsUnpacked(value: unknown): unknown {
  return mapped(value, (one) =>
    typeof one === 'object' && one !== null && MARK in one ? new Decimal(one[MARK] as string) : undefined,
  );
}

function mapped(value: unknown, change: (one: unknown) => unknown): unknown {
  if (typeof value !== 'object' || value === null) return value;
  const changed = change(value);
  if (changed !== undefined) return changed;
  if (Array.isArray(value)) return value.map((one) => mapped(one, change));
  const tag = Object.prototype.toString.call(value);
  if (tag === '[object Map]')
    return new Map([...(value as Map<unknown, unknown>)].map(([key, one]) => [key, mapped(one, change)]));
  // Dates, sets and typed arrays clone well and hold no amounts.
  if (tag !== '[object Object]') return value;
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, mapped(one, change)]));
}
