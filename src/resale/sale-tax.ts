/** The tax of a sale: on what the buyer finally paid, and anew when the purchase turns out to have been another. */
import { Decimal } from 'decimal.js';
import { purchaseOf } from '../cost/purchase.queries.js';
import { taxSchemeOf } from '../cost/tax-scheme.js';
import { lookUp } from '../engine/look-up.js';
import { taxOnSale } from '../engine/money/index.js';
import { reverseEntry, writeEntry } from '../ledger/ledger.operations.js';
import { toDecimal } from '../platform/money.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';

type Figure = Parameters<typeof toDecimal>[0];

/** What sales tax lies on: the price, less a trade-in where the shop's law takes it off. */
export const taxablePrice = (
  price: Decimal,
  sale: { taxScheme: string; tradeInLowersTax: boolean; tradeInAllowance: Figure },
): Decimal =>
  sale.taxScheme === 'salesTax' && sale.tradeInLowersTax
    ? Decimal.max(0, price.minus(toDecimal(sale.tradeInAllowance)))
    : price;

/**
 * The tax on what a buyer has paid and not got back, in the scheme of the sale, against what the machine was bought for
 * as it is now known.
 */
export async function taxOnKept(
  context: OperationContext,
  sale: Stored<'sale'>,
  customerRefundTotal: Decimal,
): Promise<Decimal> {
  const { purchasePrice } = lookUp(await purchaseOf(context, [sale.jobId]), sale.jobId);
  const kept = toDecimal(sale.price).minus(customerRefundTotal);
  return taxOnSale(taxSchemeOf(sale), taxablePrice(kept, sale), purchasePrice, context.shop.currency).tax;
}

/** Books the tax on what is left of the price: the entry that stands is reversed, and a new one is dated today. */
export async function rebookTax(
  context: OperationContext,
  sale: Stored<'sale'>,
  customerRefundTotal: Decimal,
  reason: string,
): Promise<void> {
  const tax = await taxOnKept(context, sale, customerRefundTotal);
  if (sale.taxScheme === 'marginScheme' && !tax.equals(toDecimal(sale.taxCollected))) {
    const booked = await context.tx.ledgerEntry.findFirst({
      where: { saleId: sale.id, kind: 'tax', reversesId: null, reversedBy: null },
    });
    if (booked) await reverseEntry(context, booked.id, reason);
    if (tax.greaterThan(0))
      await writeEntry(context, {
        jobId: sale.jobId,
        kind: 'tax',
        amount: tax.toString(),
        occurredDate: context.today,
        description: 'Tax on the margin that is left',
        cause: { saleId: sale.id },
      });
  }
  await context.tx.sale.update({
    where: { id: sale.id },
    data: { customerRefundTotal: customerRefundTotal.toString(), taxCollected: tax.toString() },
  });
}

/**
 * After a purchase was corrected: the margin of what was sold of it is another, and so is the tax in it. Earlier sales
 * first, since later ones build on them.
 */
export async function retaxMachines(context: OperationContext, machineIds: readonly string[]): Promise<void> {
  const sales = await context.tx.sale.findMany({
    where: { job: { machineId: { in: [...machineIds] } }, taxScheme: 'marginScheme', reversedDate: null },
    orderBy: { job: { number: 'asc' } },
  });
  for (const sale of sales) {
    const refunded = toDecimal(sale.customerRefundTotal);
    if (!(await taxOnKept(context, sale, refunded)).equals(toDecimal(sale.taxCollected)))
      await rebookTax(context, sale, refunded, 'the purchase was corrected');
  }
}
