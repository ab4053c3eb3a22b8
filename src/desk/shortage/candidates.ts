/** Ways out for tasks that wait for an order line: found, tried out, ranked. */
import { Decimal } from 'decimal.js';
import { stockOfParts } from '../../catalogue/catalogue.queries.js';
import { substituteParts } from '../../catalogue/substitutes.js';
import { onlyEqual } from '../../catalogue/substitutes.queries.js';
import type { ArrivalForecast as EngineForecast } from '../../engine/arrival/index.js';
import type { Joint } from '../../engine/fastener/index.js';
import { at } from '../../engine/look-up.js';
import { labourValue } from '../../engine/money/index.js';
import { machineName } from '../../machines/machine-name.js';
import { Conflict, NotFound } from '../../platform/errors.js';
import { checkAmount, toDecimal } from '../../platform/money.js';
import type { OperationContext } from '../../platform/operation/operation.js';
import type { Stored } from '../../platform/operation/stored.js';
import { type ArrivalForecast, arrivalForecasts, forecastsIfOrderedFrom } from '../../purchasing/arrivals.queries.js';
import { type CompleteNeed, completeNeeds } from '../../purchasing/needs.queries.js';
import { type CompleteLine, linesByIds } from '../../purchasing/orders.queries.js';
import { readShop } from '../../shop/shop.queries.js';
import { needOrder } from '../../stock/reservations.js';

/** The tasks that wait for a line, and for how many. */
export interface Shortage {
  line: CompleteLine;
  part: Stored<'part'>;
  /** Open needs that the line is for and that are not wholly on hand, complete, each with its job. */
  needs: (CompleteNeed & { task: { name: string; job: Stored<'job'> } })[];
  quantity: Decimal;
}

export interface Candidate {
  kind: 'stock' | 'interchange' | 'equivalentFastener' | 'donor' | 'otherSupplier' | 'rework' | 'resequence' | 'wait';
  allowed: boolean;
  reasons: string[];
  partId: string | null;
  partName: string | null;
  stockId: string | null;
  machineId: string | null;
  supplierId: string | null;
  arrivalDate: string | null;
  cost: Decimal | null;
  /** From another supplier: how it would come if it were ordered today. */
  arrival?: ArrivalForecast | undefined;
}

/** What somebody who looks for a way out says of it. */
export interface Wanted {
  joint: Joint;
  /** To make or repair the parts here: hands-on time for all that are missing, and the material. */
  reworkMinutes?: number | null | undefined;
  reworkCost?: string | null | undefined;
}

/** @throws NotFound, Conflict when no task waits for the line */
export async function shortageOf(context: OperationContext, orderLineId: string): Promise<Shortage> {
  const [line] = await linesByIds(context, [orderLineId]);
  if (!line) throw new NotFound('order line', orderLineId);
  const rows = await context.tx.partNeed.findMany({
    where: { orderLineId, usedDate: null, archivedAt: null },
    include: { task: { select: { name: true, job: true } } },
    orderBy: needOrder,
  });
  const needs = (await completeNeeds(context, rows)).filter((need) => need.status !== 'onHand');
  if (needs.length === 0) throw new Conflict('nobody-waits', 'No task waits for this order line.');
  const part = await context.tx.part.findFirstOrThrow({ where: { id: line.partId } });
  return {
    line,
    part,
    needs,
    quantity: Decimal.sum(...needs.map((need) => toDecimal(need.quantity).minus(need.quantityCovered))),
  };
}

/** Everything that could be taken, or waited for, allowed or refused, with its reasons; nothing is written. */
export async function candidatesFor(
  context: OperationContext,
  shortage: Shortage,
  wanted: Wanted,
): Promise<Candidate[]> {
  return [
    ...(await fromBins(context, shortage, wanted.joint)),
    ...(await fromDonors(context, shortage)),
    ...(await fromOtherSuppliers(context, shortage)),
    ...(await byRework(context, shortage, wanted)),
    await byWaiting(context, shortage),
  ];
}

const nothing = {
  partId: null,
  partName: null,
  stockId: null,
  machineId: null,
  supplierId: null,
  arrivalDate: null,
  cost: null,
};

async function fromBins(context: OperationContext, { part, quantity }: Shortage, joint: Joint): Promise<Candidate[]> {
  const serving = await substituteParts(context, part, joint);
  const bins = await stockOfParts(context, [part.id, ...serving.map((one) => one.partId)]);
  return bins.map((bin): Candidate => {
    const substitute = serving.find((one) => one.partId === bin.partId);
    const enough = bin.quantityFree.greaterThanOrEqualTo(quantity);
    const free = `${bin.quantityFree} in bin ${bin.bin} are held for nobody, and ${quantity} are missing.`;
    return {
      ...nothing,
      kind: substitute?.kind ?? 'stock',
      allowed: enough && (substitute?.allowed ?? true),
      reasons: [...(substitute?.reasons ?? ['The same part.']), free],
      partId: bin.partId,
      partName: substitute?.name ?? part.name,
      stockId: bin.id,
      arrivalDate: context.today,
      cost: toDecimal(bin.unitCost).times(quantity),
    };
  });
}

/**
 * Donors of a kind or of a model that the part fits; of the waiting machine's own model first, then of the other models it
 * is known to fit. Whether the part is still on is for somebody to look.
 */
async function fromDonors(context: OperationContext, { part, needs, quantity }: Shortage): Promise<Candidate[]> {
  const waiting = await context.tx.machine.findFirst({ where: { jobs: { some: { id: at(needs, 0).task.job.id } } } });
  const kinds = part.fits.length > 0 ? part.fits : waiting ? [waiting.kind] : [];
  // The column is written only through the shape.
  const models = part.fitsModels as unknown as ModelName[];
  const donors = await context.tx.machine.findMany({
    where: {
      disposition: { in: ['donor', 'scrap'] },
      archivedAt: null,
      scrapSales: { none: { reversedDate: null } },
      // What was sold is not the shop's to take parts off.
      jobs: { none: { archivedAt: null, outcome: 'sold' } },
      OR: [{ kind: { in: kinds } }, ...models.map(modelled)],
      ...(waiting ? { id: { not: waiting.id } } : {}),
    },
    include: { harvests: { select: { stock: { where: { partId: part.id }, select: { quantity: true } } } } },
    orderBy: { createdAt: 'asc' },
  });
  const same = (donor: DonorName) =>
    donor.maker !== null && donor.model !== null && donor.maker === waiting?.maker && donor.model === waiting.model;
  const known = ({ maker, model }: DonorName) =>
    maker !== null && model !== null && models.some((one) => alike(one.maker, maker) && alike(one.model, model));
  const rank = (donor: DonorName): number => (same(donor) ? 2 : known(donor) ? 1 : 0);
  return donors
    .sort((a, b) => rank(b) - rank(a))
    .slice(0, 5)
    .map((donor): Candidate => {
      const harvested = donor.harvests.some((harvest) => harvest.stock.length > 0);
      const allowed = !part.designedToFail && !harvested;
      return {
        ...nothing,
        kind: 'donor',
        allowed,
        reasons: [
          `${machineName(donor)}${same(donor) ? ', the same model' : known(donor) ? ', a model that it is known to fit' : ''}: ` +
            `look whether ${quantity} × ${part.name} are on it and sound.`,
          ...(harvested ? ['Such parts were already taken off it.'] : []),
          ...(part.designedToFail
            ? [
                'It is made to break, and what a donor carries may not be its exact equal: somebody may have fitted another.',
              ]
            : []),
        ],
        partId: part.id,
        partName: part.name,
        machineId: donor.id,
        arrivalDate: context.today,
      };
    });
}

interface ModelName {
  maker: string;
  model: string;
}
type DonorName = { [K in keyof ModelName]: string | null };
const alike = (a: string, b: string): boolean => a.trim().toLowerCase() === b.trim().toLowerCase();
const modelled = ({ maker, model }: ModelName) => ({
  maker: { equals: maker, mode: 'insensitive' as const },
  model: { equals: model, mode: 'insensitive' as const },
});

/** Suppliers that such parts, or parts of the family, were ordered from before. */
async function fromOtherSuppliers(context: OperationContext, { line, part, quantity }: Shortage): Promise<Candidate[]> {
  const order = await context.tx.order.findFirstOrThrow({ where: { id: line.orderId } });
  const known = await context.tx.orderLine.findMany({
    where: {
      part: { family: part.family },
      order: { supplierId: { not: order.supplierId }, supplier: { archivedAt: null } },
    },
    select: {
      partId: true,
      unitPrice: true,
      order: { select: { supplierId: true, supplier: { select: { name: true } } } },
    },
    orderBy: { createdAt: 'desc' },
  });
  const suppliers = new Map(known.map((one) => [one.order.supplierId, one.order.supplier.name]));
  const forecasts = await forecastsIfOrderedFrom(context, [...suppliers.keys()], part.family);
  return [...suppliers].map(([supplierId, name]): Candidate => {
    const price = known.find((one) => one.order.supplierId === supplierId && one.partId === part.id)?.unitPrice;
    const arrival = forecasts.get(supplierId);
    const day = arrival?.p50Date ?? null;
    return {
      ...nothing,
      kind: 'otherSupplier',
      allowed: true,
      reasons: [
        `${name} has sold the shop ${price ? 'this part' : 'parts of this family'} before; ` +
          `ordered today it would come about ${day ?? 'nobody knows when'}.`,
        price ? 'The cost is at its last price, without shipping and tax.' : 'Ask for its price.',
      ],
      partId: part.id,
      partName: part.name,
      supplierId,
      arrivalDate: day,
      cost: price ? toDecimal(price).times(quantity) : null,
      ...(arrival ? { arrival: unplaced(arrival, supplierId, name, part.family) } : {}),
    };
  });
}

/** An order that nobody has made yet has no line, no promise and no slip. */
const unplaced = (
  forecast: EngineForecast,
  supplierId: string,
  supplierName: string,
  family: string,
): ArrivalForecast => ({
  ...forecast,
  orderLineId: `not ordered from ${supplierId}`,
  supplierId,
  supplierName,
  family,
  promisedDate: null,
  backOrdered: false,
});

/** Making or repairing the part here, where somebody has said what that takes. */
async function byRework(
  context: OperationContext,
  { part, quantity }: Shortage,
  { reworkMinutes, reworkCost }: Wanted,
): Promise<Candidate[]> {
  if (typeof reworkMinutes !== 'number') return [];
  const { hourlyValue } = await readShop(context);
  const material = checkAmount(reworkCost ?? '0', context.shop.currency, '/reworkCost');
  return [
    {
      ...nothing,
      kind: 'rework',
      allowed: !part.designedToFail,
      reasons: [
        `Made or repaired here, ${quantity} × ${part.name} would take ${reworkMinutes} ` +
          `minutes; the cost is the material and these minutes at the shop's value.`,
        ...(part.designedToFail
          ? [onlyEqual]
          : ["The maker's manual rules whether such a part may be repaired at all."]),
      ],
      partId: part.id,
      partName: part.name,
      cost: material.plus(labourValue(reworkMinutes, toDecimal(hourlyValue), context.shop.currency)),
    },
  ];
}

async function byWaiting(context: OperationContext, { line }: Shortage): Promise<Candidate> {
  const forecast = (await arrivalForecasts(context, { orderLineIds: [line.id] })).byLine.get(line.id);
  return {
    ...nothing,
    kind: 'wait',
    allowed: true,
    reasons: forecast?.reasons ?? ['Nothing is to come on this line any more.'],
    partId: line.partId,
    arrivalDate: forecast?.p50Date ?? null,
    cost: new Decimal(0),
  };
}
