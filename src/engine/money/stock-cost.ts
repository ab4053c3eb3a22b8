import { Decimal } from 'decimal.js';
import { EngineError } from '../error.js';
import { type Amount, plain, readAmount, readDecimal, roundAmount, total } from './amount.js';

/** So many of one part that came in together, with what they cost in all. */
export interface StockLot {
  quantity: Decimal.Value;
  cost: Amount;
}

/** Which lots a withdrawal is taken from. `specific` names the quantity out of each lot. */
export type CostFlow = 'firstIn' | 'lastIn' | 'average' | { specific: readonly Decimal.Value[] };

/**
 * Takes a quantity out of stock: its cost, and the lots that remain. Cost leaves a lot in proportion to quantity and a
 * lot emptied gives up all it has, so that what leaves and what stays always add up to what there was.
 * @param lots in order of arrival
 * @param flow machines and harvested parts are `specific`; bulk parts and consumables the shop's choice of the others
 * @throws EngineError `not-enough` for more than there is, `bad-number`, and as `parseAmount`
 */
export function withdraw(
  lots: readonly StockLot[],
  quantity: Decimal.Value,
  flow: CostFlow,
  currency: string,
): { cost: Decimal; left: { quantity: Decimal; cost: Decimal }[] } {
  const stock = lots.map((lot, index) => ({
    quantity: plain(readDecimal(lot.quantity, 'a quantity', `lots/${index}/quantity`)),
    cost: readAmount(lot.cost, currency, `lots/${index}/cost`),
  }));
  const wanted = readDecimal(quantity, 'a quantity', 'quantity');
  const there = stock.reduce((sum, lot) => sum.plus(lot.quantity), new Decimal(0));
  if (wanted.greaterThan(there))
    throw new EngineError('not-enough', `${wanted.toFixed()} wanted, ${there.toFixed()} in stock`, 'quantity');

  if (flow === 'average') {
    const pool = { quantity: there, cost: total(stock.map((lot) => lot.cost)) };
    const [taken, left] = split(pool, wanted, currency);
    return { cost: taken, left: [left] };
  }
  const takes =
    typeof flow === 'object' ? named(stock, flow.specific, wanted) : inOrder(stock, wanted, flow === 'lastIn');
  const parts = stock.map((lot, index) => split(lot, takes[index]!, currency));
  return {
    cost: total(parts.map(([taken]) => taken)),
    left: parts.map(([, left]) => left).filter((lot) => !lot.quantity.isZero()),
  };
}

function split(
  lot: { quantity: Decimal; cost: Decimal },
  take: Decimal,
  currency: string,
): [Decimal, { quantity: Decimal; cost: Decimal }] {
  const taken = lot.quantity.isZero() ? new Decimal(0) : roundAmount(take.times(lot.cost).div(lot.quantity), currency);
  return [taken, { quantity: plain(lot.quantity.minus(take)), cost: plain(lot.cost.minus(taken)) }];
}

function inOrder(stock: readonly { quantity: Decimal }[], wanted: Decimal, fromTheEnd: boolean): Decimal[] {
  const takes = stock.map(() => new Decimal(0));
  let still = wanted;
  const order = stock.map((_, index) => index);
  if (fromTheEnd) order.reverse();
  for (const index of order) {
    takes[index] = plain(Decimal.min(still, stock[index]!.quantity));
    still = still.minus(takes[index]!);
  }
  return takes;
}

function named(
  stock: readonly { quantity: Decimal }[],
  specific: readonly Decimal.Value[],
  wanted: Decimal,
): Decimal[] {
  const takes = stock.map((_, index) => plain(readDecimal(specific[index] ?? 0, 'a quantity', `specific/${index}`)));
  const short = takes.findIndex((take, index) => take.greaterThan(stock[index]!.quantity));
  if (short >= 0)
    throw new EngineError(
      'not-enough',
      `${takes[short]!.toFixed()} wanted of a lot of ${stock[short]!.quantity.toFixed()}`,
      `specific/${short}`,
    );
  const sum = takes.reduce((all, take) => all.plus(take), new Decimal(0));
  if (!sum.equals(wanted))
    throw new EngineError(
      'bad-number',
      `${sum.toFixed()} named out of the lots, ${wanted.toFixed()} wanted in all`,
      'specific',
    );
  return takes;
}
