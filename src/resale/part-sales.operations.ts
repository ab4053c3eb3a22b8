/** Parts sold out of bins, and what is left of a machine sold as scrap. */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { priceOf, purchaseOfMachines } from '../cost/purchase.queries.js';
import { taxSchemeOf } from '../cost/tax-scheme.js';
import { at, lookUp } from '../engine/look-up.js';
import { taxOnSale } from '../engine/money/index.js';
import { requireMachineOnHand } from '../machines/on-hand.js';
import { Conflict, NotFound, Refused } from '../platform/errors.js';
import { checkAmount, toDecimal } from '../platform/money.js';
import { asDate, asDay } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, priceReaders } from '../platform/operation/operation.js';
import { lock, requirePastDate } from '../platform/operation/rows.js';
import { findOne, type Stored } from '../platform/operation/stored.js';
import { day, id } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { changeQuantity } from '../stock/stock.operations.js';
import { PartSale, PartSaleCreate, ScrapSale, ScrapSaleCreate, Undoing } from './after-sale.shapes.js';
import { basisOf, netOf } from './part-sales.js';

/**
 * What a margin scheme computes from: of a part off a donor, its part of the donor's price, without haul and fees. A part that
 * was bought as such had its tax reclaimed, so that tax lies on all of its price; where one was found, no purchase shows.
 */
async function purchasePriceOf(context: OperationContext, stock: Stored<'stock'>, basis: Decimal): Promise<Decimal> {
  if (!stock.harvestId) return new Decimal(0);
  const { machineId } = await context.tx.harvest.findUniqueOrThrow({ where: { id: stock.harvestId } });
  return priceOf(lookUp(await purchaseOfMachines(context, [machineId]), machineId), basis, context.shop.currency);
}

/** @param on the invoice that it is a line of, with its part of the sales tax and where it stands in the input */
export async function sellParts(
  context: OperationContext,
  input: z.output<typeof PartSaleCreate>,
  on?: { invoiceId: string; tax: Decimal | null; pointer: string },
): Promise<Stored<'partSale'>> {
  const { currency } = context.shop;
  await lock(context, 'Stock', [input.stockId]);
  const stock = await context.tx.stock.findFirst({ where: { id: input.stockId } });
  if (!stock) throw new NotFound('stock in a bin', input.stockId);
  const price = checkAmount(input.price, currency, `${on?.pointer ?? ''}/price`);
  const sellingCost = checkAmount(input.sellingCost, currency, '/sellingCost');
  const cameIn = await context.tx.stockMovement.findFirst({
    where: { stockId: stock.id, change: { gt: 0 } },
    orderBy: { movedDate: 'asc' },
  });
  const soldDate = requirePastDate(context, input.soldDate, '/soldDate', cameIn ? asDay(cameIn.movedDate) : undefined);
  const shop = await readShop(context);
  const tax =
    on?.tax ??
    taxOnSale(
      taxSchemeOf(shop),
      price,
      await purchasePriceOf(context, stock, basisOf(stock.unitCost, input.quantity, currency)),
      currency,
    ).tax;
  await changeQuantity(context, stock, stock.version, new Decimal(input.quantity).negated(), {
    reason: 'sold',
    movedDate: soldDate,
    note: null,
  });
  return context.tx.partSale.create({
    data: {
      shopId: context.shop.id,
      stockId: stock.id,
      soldDate: asDate(soldDate),
      quantity: input.quantity,
      price: price.toString(),
      taxScheme: shop.taxScheme,
      taxCollected: tax.toString(),
      sellingCost: sellingCost.toString(),
      buyer: input.buyer ?? null,
      channel: input.channel ?? null,
      note: input.note ?? null,
      invoiceId: on?.invoiceId ?? null,
    },
  });
}

async function reversePartSale(
  context: OperationContext,
  { id: saleId, reason }: z.output<typeof Undoing>,
): Promise<Stored<'partSale'>> {
  const { stockId } = await findOne(context.tx.partSale, 'sale of parts', saleId);
  await lock(context, 'Stock', [stockId]);
  const sale = await findOne(context.tx.partSale, 'sale of parts', saleId);
  if (sale.reversedDate) throw new Conflict('already-reversed', 'This sale of parts has already been reversed.');
  // An empty bin may have been put away since.
  const stock = await context.tx.stock.update({ where: { id: stockId }, data: { archivedAt: null } });
  await changeQuantity(context, stock, stock.version, toDecimal(sale.quantity), {
    reason: 'corrected',
    note: `Sale reversed: ${reason}`,
  });
  return context.tx.partSale.update({ where: { id: sale.id }, data: { reversedDate: asDate(context.today) } });
}

/** Adds cost and margin: at the bin's unit cost as it is now known, since a supplier's invoice may come late. One statement. */
export async function withMargin(context: OperationContext, sales: readonly Stored<'partSale'>[]) {
  const stocks = new Map(
    (
      await context.tx.stock.findMany({
        where: { id: { in: sales.map((sale) => sale.stockId) } },
        select: { id: true, unitCost: true },
      })
    ).map((stock) => [stock.id, stock.unitCost]),
  );
  return sales.map((sale) => {
    const cost = basisOf(stocks.get(sale.stockId), sale.quantity, context.shop.currency);
    return { ...sale, cost, margin: netOf(sale).minus(cost) };
  });
}

async function sellScrap(
  context: OperationContext,
  input: z.output<typeof ScrapSaleCreate>,
): Promise<Stored<'scrapSale'>> {
  await lock(context, 'Machine', [input.machineId]);
  const machine = await context.tx.machine.findFirst({
    where: { id: input.machineId },
    include: { acquisition: true, harvests: true, jobs: { where: { archivedAt: null } } },
  });
  if (!machine) throw new NotFound('machine', input.machineId);
  if (machine.archivedAt) throw new Conflict('archived', 'This machine was archived and is only kept for history.');
  await requireMachineOnHand(context, machine.id, ['sold']);
  if (machine.disposition !== 'donor' && machine.disposition !== 'scrap')
    throw new Refused(
      'not-scrap',
      `This machine's disposition is "${machine.disposition}"; change it to "scrap", or to "donor" if parts were taken off it, first.`,
    );
  const open = await context.tx.job.findFirst({ where: { machineId: machine.id, closedDate: null, archivedAt: null } });
  if (open)
    throw new Conflict(
      'job-open',
      `The machine is on job ${open.number}; close that one first, as "scrapped" or "partedOut".`,
    );
  const proceeds = checkAmount(input.proceeds, context.shop.currency, '/proceeds');
  // Remains are what is left once the machine was bought, worked on and taken apart.
  const before = [
    machine.acquisition?.acquiredDate,
    ...machine.harvests.map((one) => one.harvestedDate),
    ...machine.jobs.map((job) => job.closedDate),
  ].flatMap((one) => (one ? [asDay(one)] : []));
  const soldDate = requirePastDate(context, input.soldDate, '/soldDate', before.sort().at(-1));
  return context.tx.scrapSale.create({
    data: {
      shopId: context.shop.id,
      machineId: machine.id,
      soldDate: asDate(soldDate),
      proceeds: proceeds.toString(),
      buyer: input.buyer ?? null,
      note: input.note ?? null,
    },
  });
}

async function reverseScrapSale(
  context: OperationContext,
  { id: saleId }: z.output<typeof Undoing>,
): Promise<Stored<'scrapSale'>> {
  const { machineId } = await findOne(context.tx.scrapSale, 'sale as scrap', saleId);
  await lock(context, 'Machine', [machineId]);
  const sale = await findOne(context.tx.scrapSale, 'sale as scrap', saleId);
  if (sale.reversedDate) throw new Conflict('already-reversed', 'This sale as scrap has already been reversed.');
  return context.tx.scrapSale.update({ where: { id: sale.id }, data: { reversedDate: asDate(context.today) } });
}

export const partSaleOperations = [
  ...crudOperations({
    name: 'partSale',
    plural: 'partSales',
    what: 'sale of parts',
    table: 'partSale',
    shape: PartSale,
    create: PartSaleCreate,
    readers: priceReaders,
    archives: false,
    filters: { stockId: id.nullish(), soldFrom: day.nullish(), soldTo: day.nullish() },
    where: (filters) => ({
      ...(filters.stockId ? { stockId: filters.stockId } : {}),
      soldDate: {
        ...(filters.soldFrom ? { gte: asDate(filters.soldFrom) } : {}),
        ...(filters.soldTo ? { lte: asDate(filters.soldTo) } : {}),
      },
    }),
    sorts: ['soldDate', 'createdAt'],
    standardSort: '-soldDate',
    onCreate: (context, input) => sellParts(context, input),
    complete: withMargin,
  }),
  command({
    name: 'reversePartSale',
    summary: 'Undo a sale of parts: they are in their bin again',
    rest: { method: 'POST', path: '/part-sales/:id/reverse', status: 200 },
    creates: false,
    input: Undoing,
    output: PartSale,
    run: async (context, input) => at(await withMargin(context, [await reversePartSale(context, input)]), 0),
  }),
  ...crudOperations({
    name: 'scrapSale',
    plural: 'scrapSales',
    what: 'sale as scrap',
    table: 'scrapSale',
    shape: ScrapSale,
    create: ScrapSaleCreate,
    readers: priceReaders,
    archives: false,
    filters: { machineId: id.nullish() },
    sorts: ['soldDate', 'createdAt'],
    standardSort: '-soldDate',
    onCreate: sellScrap,
  }),
  command({
    name: 'reverseScrapSale',
    summary: "Undo a sale as scrap: what is left of the machine is the shop's again",
    rest: { method: 'POST', path: '/scrap-sales/:id/reverse', status: 200 },
    creates: false,
    input: Undoing,
    output: ScrapSale,
    run: reverseScrapSale,
  }),
];
