/** Parts sold out of bins, and what is left of a machine sold as scrap. */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { taxSchemeOf } from '../cost/cost.queries.js';
import { priceOf, purchaseOfMachines } from '../cost/purchase.queries.js';
import { taxOnSale } from '../engine/money/index.js';
import { refuseGone } from '../machines/on-hand.js';
import { lock, pastDay } from '../platform/operation/rows.js';
import { changeQuantity } from '../stock/stock.operations.js';
import { Conflict, NotFound, Refused } from '../platform/errors.js';
import { checkAmount, figure } from '../platform/money.js';
import { derived } from '../platform/operation/derive.js';
import { type Call, command, type Presentable, priceReaders } from '../platform/operation/operation.js';
import { asDate, asDay, findOne, records } from '../platform/operation/crud-operations.js';
import { day, id } from '../platform/shapes.js';
import { readShop } from '../shop/shop.queries.js';
import { PartSale, PartSaleCreate, ScrapSale, ScrapSaleCreate, Undoing } from './after-sale.shapes.js';
import { basisOf, netOf } from './part-sales.js';

/**
 * What a margin scheme reckons from: of a part off a donor, its part of the donor's price, without haul and fees. A part that
 * was bought as such had its tax reclaimed, so that tax lies on all of its price; where one was found, no purchase shows.
 */
async function purchasePriceOf(call: Call, stock: Presentable, basis: Decimal): Promise<Decimal> {
  if (!stock.harvestId) return new Decimal(0);
  const { machineId } = await call.tx.harvest.findUniqueOrThrow({ where: { id: stock.harvestId } });
  return priceOf((await purchaseOfMachines(call, [machineId])).get(machineId)!, basis, call.shop.currency);
}

async function sellParts(call: Call, input: z.output<typeof PartSaleCreate>): Promise<Presentable> {
  const { currency } = call.shop;
  await lock(call, 'Stock', [input.stockId]);
  const stock = await call.tx.stock.findFirst({ where: { id: input.stockId } });
  if (!stock) throw new NotFound('stock in a bin', input.stockId);
  const price = checkAmount(input.price, currency, '/price');
  const sellingCost = checkAmount(input.sellingCost, currency, '/sellingCost');
  const cameIn = await call.tx.stockMovement.findFirst({
    where: { stockId: stock.id, change: { gt: 0 } },
    orderBy: { movedOn: 'asc' },
  });
  const soldOn = pastDay(call, input.soldOn, '/soldOn', cameIn ? asDay(cameIn.movedOn) : undefined);
  const shop = await readShop(call);
  const { tax } = taxOnSale(
    taxSchemeOf(shop),
    price,
    await purchasePriceOf(call, stock, basisOf(stock.unitCost, input.quantity, currency)),
    currency,
  );
  await changeQuantity(call, stock, stock.version, new Decimal(input.quantity).negated(), {
    reason: 'sold',
    movedOn: soldOn,
    note: input.buyer ? `Sold to ${input.buyer}` : null,
  });
  return call.tx.partSale.create({
    data: {
      shopId: call.shop.id,
      stockId: stock.id,
      soldOn: asDate(soldOn),
      quantity: input.quantity,
      price: price.toString(),
      taxScheme: shop.taxScheme,
      taxCollected: tax.toString(),
      sellingCost: sellingCost.toString(),
      buyer: input.buyer ?? null,
      channel: input.channel ?? null,
      note: input.note ?? null,
    },
  });
}

async function reversePartSale(call: Call, { id: saleId, reason }: z.output<typeof Undoing>): Promise<Presentable> {
  const { stockId } = await findOne(call.tx.partSale, 'sale of parts', saleId);
  await lock(call, 'Stock', [stockId]);
  const sale = await findOne(call.tx.partSale, 'sale of parts', saleId);
  if (sale.reversedOn) throw new Conflict('already-reversed', 'This sale of parts has already been reversed.');
  // An empty bin may have been put away since.
  const stock = await call.tx.stock.update({ where: { id: stockId }, data: { retiredAt: null } });
  await changeQuantity(call, stock, stock.version, figure(sale.quantity), {
    reason: 'corrected',
    note: `Sale reversed: ${reason}`,
  });
  return call.tx.partSale.update({ where: { id: sale.id }, data: { reversedOn: asDate(call.today) } });
}

/** Adds cost and margin: at the bin's unit cost as it is now known, since a supplier's invoice may come late. One statement. */
async function withMargin(call: Call, sales: Presentable[]): Promise<Presentable[]> {
  const stocks = new Map(
    (
      await call.tx.stock.findMany({
        where: { id: { in: sales.map((sale) => sale.stockId as string) } },
        select: { id: true, unitCost: true },
      })
    ).map((stock) => [stock.id, stock.unitCost]),
  );
  return sales.map((sale) => {
    const cost = basisOf(stocks.get(sale.stockId), sale.quantity, call.shop.currency);
    return { ...sale, cost, margin: netOf(sale).minus(cost) };
  });
}

async function sellScrap(call: Call, input: z.output<typeof ScrapSaleCreate>): Promise<Presentable> {
  await lock(call, 'Machine', [input.machineId]);
  const machine = await call.tx.machine.findFirst({
    where: { id: input.machineId },
    include: { acquisition: true, harvests: true, jobs: { where: { retiredAt: null } } },
  });
  if (!machine) throw new NotFound('machine', input.machineId);
  if (machine.retiredAt) throw new Conflict('retired', 'This machine was retired and is only kept for history.');
  await refuseGone(call, machine.id, ['sold']);
  if (machine.disposition !== 'donor' && machine.disposition !== 'scrap')
    throw new Refused(
      'not-scrap',
      `This machine's disposition is "${machine.disposition}"; change it to "scrap", or to "donor" if parts were taken off it, first.`,
    );
  const open = await call.tx.job.findFirst({ where: { machineId: machine.id, closedOn: null, retiredAt: null } });
  if (open)
    throw new Conflict(
      'job-open',
      `The machine is on job ${open.number}; close that one first, as "scrapped" or "partedOut".`,
    );
  const proceeds = checkAmount(input.proceeds, call.shop.currency, '/proceeds');
  // Remains are what is left once the machine was bought, worked on and taken apart.
  const before = [
    machine.acquisition?.acquiredOn,
    ...machine.harvests.map((one) => one.harvestedOn),
    ...machine.jobs.map((job) => job.closedOn),
  ].flatMap((one) => (one ? [asDay(one)] : []));
  const soldOn = pastDay(call, input.soldOn, '/soldOn', before.sort().at(-1));
  return call.tx.scrapSale.create({
    data: {
      shopId: call.shop.id,
      machineId: machine.id,
      soldOn: asDate(soldOn),
      proceeds: proceeds.toString(),
      buyer: input.buyer ?? null,
      note: input.note ?? null,
    },
  });
}

async function reverseScrapSale(call: Call, { id: saleId }: z.output<typeof Undoing>): Promise<Presentable> {
  const { machineId } = await findOne(call.tx.scrapSale, 'sale as scrap', saleId);
  await lock(call, 'Machine', [machineId]);
  const sale = await findOne(call.tx.scrapSale, 'sale as scrap', saleId);
  if (sale.reversedOn) throw new Conflict('already-reversed', 'This sale as scrap has already been reversed.');
  return call.tx.scrapSale.update({ where: { id: sale.id }, data: { reversedOn: asDate(call.today) } });
}

export const partSaleOperations = [
  ...derived(
    [
      ...records({
        name: 'partSale',
        plural: 'partSales',
        what: 'sale of parts',
        rows: (tx) => tx.partSale,
        shape: PartSale,
        create: PartSaleCreate,
        readers: priceReaders,
        retires: false,
        filters: { stockId: id.nullish(), soldFrom: day.nullish(), soldTo: day.nullish() },
        where: (filters) => ({
          ...(filters.stockId ? { stockId: filters.stockId } : {}),
          soldOn: {
            ...(filters.soldFrom ? { gte: asDate(filters.soldFrom as string) } : {}),
            ...(filters.soldTo ? { lte: asDate(filters.soldTo as string) } : {}),
          },
        }),
        sorts: ['soldOn', 'createdAt'],
        standardSort: '-soldOn',
        onCreate: sellParts,
      }),
      command({
        name: 'reversePartSale',
        summary: 'Undo a sale of parts: they are in their bin again',
        rest: { method: 'POST', path: '/part-sales/:id/reversal', status: 200 },
        creates: false,
        input: Undoing,
        output: PartSale,
        run: reversePartSale,
      }),
    ],
    withMargin,
  ),
  ...records({
    name: 'scrapSale',
    plural: 'scrapSales',
    what: 'sale as scrap',
    rows: (tx) => tx.scrapSale,
    shape: ScrapSale,
    create: ScrapSaleCreate,
    readers: priceReaders,
    retires: false,
    filters: { machineId: id.nullish() },
    sorts: ['soldOn', 'createdAt'],
    standardSort: '-soldOn',
    onCreate: sellScrap,
  }),
  command({
    name: 'reverseScrapSale',
    summary: "Undo a sale as scrap: what is left of the machine is the shop's again",
    rest: { method: 'POST', path: '/scrap-sales/:id/reversal', status: 200 },
    creates: false,
    input: Undoing,
    output: ScrapSale,
    run: reverseScrapSale,
  }),
];
