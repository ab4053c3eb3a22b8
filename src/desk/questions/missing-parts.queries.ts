/** What is missing: parts that tasks need and nobody has ordered, parts on the way, and what each holds up. */
import { z } from 'zod';
import { at } from '../../engine/look-up.js';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import { day, id, shape, wholeNumber } from '../../platform/shapes.js';
import { arrivalForecasts } from '../../purchasing/arrivals.queries.js';
import { arrivalsOf } from '../../purchasing/arrivals.queries.js';
import { Arrival } from '../../purchasing/arrivals.shapes.js';
import { completeNeeds } from '../../purchasing/needs.queries.js';
import { completeLines } from '../../purchasing/orders.queries.js';
import { OrderLine } from '../../purchasing/orders.shapes.js';
import { PartNeed } from '../../stock/stock.shapes.js';

const HeldUp = shape(
  'HeldUpTask',
  { taskId: id, taskName: z.string(), jobId: id, jobNumber: wholeNumber, jobTitle: z.string() },
  'A task that cannot start before a part is on hand.',
);
export const UnorderedPart = shape(
  'UnorderedPart',
  {
    need: PartNeed,
    partName: z.string(),
    holdsUp: HeldUp,
    freeInBins: z.number().meta({ description: 'Of the part, on hand and reserved for nobody.' }),
    stockId: id.nullable().meta({ scalar: 'ID', description: 'A bin with enough of them free.' }),
    bin: z.string().nullable(),
    p50Date: day
      .nullable()
      .meta({ scalar: 'Day', description: 'If ordered today it would have come by then with one chance in two.' }),
    supplierId: id.nullable().meta({ scalar: 'ID', description: 'Who it was last ordered from.' }),
  },
  'A part that a task needs, that is not on hand and that has not been ordered.',
);
export const AwaitedPart = shape(
  'AwaitedPart',
  {
    line: OrderLine,
    partName: z.string(),
    supplierId: id,
    supplierName: z.string(),
    orderedDate: day,
    arrival: Arrival.nullable(),
    holdsUp: z.array(HeldUp),
    bin: z.string().nullable().meta({ description: 'Where such parts were put last.' }),
  },
  'An order line of which something is still to come.',
);
export const MissingParts = shape(
  'MissingParts',
  { unordered: z.array(UnorderedPart), awaited: z.array(AwaitedPart) },
  'What the open jobs wait for in parts.',
);

const taskOf = {
  select: { id: true, name: true, job: { select: { id: true, number: true, title: true } } },
} as const;
const heldUp = (task: { id: string; name: string; job: { id: string; number: number; title: string } }) => ({
  taskId: task.id,
  taskName: task.name,
  jobId: task.job.id,
  jobNumber: task.job.number,
  jobTitle: task.job.title,
});

async function missingParts({ tx, ...rest }: OperationContext) {
  const context = { tx, ...rest };
  const rows = await tx.partNeed.findMany({
    where: {
      archivedAt: null,
      usedDate: null,
      task: { archivedAt: null, finishedAt: null, job: { closedDate: null, archivedAt: null } },
    },
    include: { task: taskOf, part: { select: { name: true, family: true } } },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const needs = await completeNeeds(context, rows);
  const unordered = needs.filter((need) => need.status === 'unordered');
  const partIds = [...new Set(unordered.map((need) => need.partId))];
  const bins = await tx.stock.findMany({
    where: { partId: { in: partIds }, archivedAt: null, quantity: { gt: 0 } },
    include: { needs: { where: { archivedAt: null, usedDate: null }, select: { quantity: true } } },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const free = bins.map((bin) => ({
    id: bin.id,
    bin: bin.bin,
    partId: bin.partId,
    free: Math.max(0, Number(bin.quantity) - bin.needs.reduce((sum, need) => sum + Number(need.quantity), 0)),
  }));
  const lastOrders = await tx.orderLine.findMany({
    where: { partId: { in: partIds } },
    include: { order: { select: { supplierId: true } } },
    orderBy: [{ createdAt: 'desc' }],
  });
  const { ifOrderedToday } = await arrivalForecasts(context, {
    orderLineIds: [],
    families: unordered.map((need) => need.part.family),
  });
  const lines = await tx.orderLine.findMany({
    where: { order: { archivedAt: null }, quantityCancelled: { lt: tx.orderLine.fields.quantityOrdered } },
    include: {
      part: { select: { name: true, id: true } },
      order: { select: { orderedDate: true, supplier: { select: { id: true, name: true } } } },
    },
    orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
  });
  const outstanding = lines.filter(
    (line) => Number(line.quantityReceived) + Number(line.quantityCancelled) < Number(line.quantityOrdered),
  );
  const complete = await completeLines(context, outstanding);
  const arrivals = await arrivalsOf(context, outstanding);
  const lastBins = await tx.stock.findMany({
    where: { partId: { in: outstanding.map((line) => line.partId) } },
    select: { partId: true, bin: true },
    orderBy: { createdAt: 'desc' },
  });
  return {
    unordered: unordered.map((need) => {
      const own = free.filter((bin) => bin.partId === need.partId);
      const enough = own.find((bin) => bin.free >= Number(need.quantity));
      return {
        need,
        partName: need.part.name,
        holdsUp: heldUp(need.task),
        freeInBins: own.reduce((sum, bin) => sum + bin.free, 0),
        stockId: enough?.id ?? null,
        bin: enough?.bin ?? null,
        p50Date: ifOrderedToday.get(need.part.family) ?? null,
        supplierId: lastOrders.find((line) => line.partId === need.partId)?.order.supplierId ?? null,
      };
    }),
    awaited: outstanding.map((line, index) => ({
      line: at(complete, index),
      partName: line.part.name,
      supplierId: line.order.supplier.id,
      supplierName: line.order.supplier.name,
      orderedDate: line.order.orderedDate,
      arrival: arrivals[index] ?? null,
      holdsUp: needs
        .filter((need) => need.orderLineId === line.id && need.status !== 'onHand')
        .map((need) => heldUp(need.task)),
      bin: lastBins.find((bin) => bin.partId === line.partId)?.bin ?? null,
    })),
  };
}

export const missingPartsQuery = query({
  name: 'missingParts',
  slow: true,
  summary: 'What the open jobs wait for in parts: not ordered yet, or on the way, and what each holds up',
  rest: { method: 'GET', path: '/missing-parts' },
  input: z.strictObject({}),
  output: MissingParts,
  run: missingParts,
});
