import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { allocate } from './allocate.js';
import { type Amount, plain, readAmount, readDecimal, roundAmount, total } from './amount.js';

/** A part taken off, with what one of it is worth used. */
export interface HarvestedPart {
  quantity: Decimal.Value;
  valueEach: Amount;
}

export interface HarvestBasis {
  /** Basis moved to each part, in order, for its whole quantity. */
  parts: { basis: Decimal; unitCost: Decimal }[];
  moved: Decimal;
  /** What the donor still carries; `moved` and `left` add up to the donor's basis exactly. */
  left: Decimal;
  reasons: string;
}

/**
 * Moves cost basis from a donor machine to the parts taken off it. Rule: by relative value; each part takes the share
 * of the donor's basis that its value is of (all parts taken now + what the rest of the donor is still worth). The
 * ground for it is Treas. Reg. §1.61-6(a) Example (2), where a lump sum for two parts is apportioned by their values.
 * Taking parts one visit at a time gives the same basis as taking them all at once, as long as the values stand.
 *
 * Off a donor no part takes more than it is worth: what the donor cost beyond its parts is a loss made in buying it, and
 * not a cost of the job that uses them (lower of cost and net realisable value, IAS 2 §9; from memory). That leaves visits
 * one at a time and all at once the same.
 * @param most `worth` for parts off a donor; `all` where the parts are all there is, as out of a kit
 * @param remainderValue what the rest of the donor is worth after this harvest (further parts, metal), zero when the
 *   rest is waste: then all of the basis goes with the parts
 * @throws EngineError `no-shares` without parts, `no-weight` when nothing has a value, `negative-amount`, `bad-number`
 */
export function harvestBasis(
  donorBasis: Amount,
  parts: readonly HarvestedPart[],
  remainderValue: Amount,
  currency: string,
  most: 'worth' | 'all' = 'all',
): HarvestBasis {
  const basis = readAmount(donorBasis, currency, 'donorBasis');
  if (parts.length === 0) throw new EngineError('no-shares', 'a harvest takes at least one part', 'parts');
  const quantities = parts.map((part, index) => readDecimal(part.quantity, 'a quantity', `parts/${index}/quantity`));
  const values = parts.map((part, index) =>
    quantities[index]!.times(readDecimal(part.valueEach, 'a value', `parts/${index}/valueEach`)),
  );
  const rest = readDecimal(remainderValue, 'the value of the rest', 'remainderValue');
  const worth = total([...values, rest]);
  const byValue = allocate(basis, [...values, rest], currency, 'parts').slice(0, -1);
  const shares =
    most === 'all'
      ? byValue
      : byValue.map((share, index) => plain(Decimal.min(share, roundAmount(values[index]!, currency))));
  const left = plain(basis.minus(total(shares)));
  const isCapped = shares.some((share, index) => share.lessThan(byValue[index]!));
  return {
    parts: shares.map((share, index) => ({
      basis: share,
      unitCost: quantities[index]!.isZero()
        ? new Decimal(0)
        : plain(new Decimal(share).div(quantities[index]!).toDecimalPlaces(6)),
    })),
    moved: total(shares),
    left,
    reasons:
      `${total(shares).toFixed()} of ${basis.toFixed()} ${currency} moved with the parts: they are worth ` +
      `${total(values).toFixed()} of ${worth.toFixed()}, by relative ` +
      `value${isCapped ? ' and at most what they are worth' : ''}; ${left.toFixed()} stays on the donor`,
  };
}
