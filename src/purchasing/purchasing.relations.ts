import { partsByIds } from '../catalogue/catalogue.queries.js';
import { Part, Supplier } from '../catalogue/catalogue.shapes.js';
import { children, computed, type OperationContext, parentOf, priceReaders } from '../platform/operation/operation.js';
import { completeStock } from '../stock/reservations.js';
import { PartNeed, Stock } from '../stock/stock.shapes.js';
import { taskInclude, withTaskStatus } from '../work/tasks.js';
import { Job, Task } from '../work/work.shapes.js';
import { arrivalsOf } from './arrivals.queries.js';
import { Arrival } from './arrivals.shapes.js';
import { completeNeeds, needsOfJobs, needsOfTasks } from './needs.queries.js';
import { completeOrders, linesByIds, linesOfOrders } from './orders.queries.js';
import { CoreReturn, Order, OrderLine, PartReturn, Receipt, SupplierPromise } from './orders.shapes.js';

const oldestFirst = [{ createdAt: 'asc' }, { id: 'asc' }] as const;
const stockByIds = async (context: OperationContext, ids: string[]) =>
  completeStock(context, await context.tx.stock.findMany({ where: { id: { in: ids } } }));

const partOf = (on: typeof OrderLine | typeof PartNeed) =>
  parentOf({ on, field: 'part', to: Part, key: 'partId', description: 'The catalogue entry.', find: partsByIds });

export const purchasingRelations = [
  partOf(OrderLine),
  partOf(PartNeed),
  parentOf({
    on: PartNeed,
    field: 'fittedPart',
    to: Part,
    key: 'fittedPartId',
    description: 'What was fitted, once it was used.',
    find: partsByIds,
  }),
  children({
    on: Part,
    field: 'orderLines',
    to: OrderLine,
    key: 'partId',
    description: 'Where it was ordered, latest first.',
    find: async (context, ids) =>
      linesByIds(
        context,
        (await context.tx.orderLine.findMany({ where: { partId: { in: ids } }, select: { id: true } })).map(
          (line) => line.id,
        ),
      ),
  }),
  children({
    on: Supplier,
    field: 'orders',
    to: Order,
    key: 'supplierId',
    description: 'Orders at this supplier, latest first.',
    roles: priceReaders,
    find: async (context, ids) =>
      completeOrders(
        context,
        await context.tx.order.findMany({
          where: { supplierId: { in: ids }, archivedAt: null },
          orderBy: [{ orderedDate: 'desc' }, { id: 'asc' }],
        }),
      ),
  }),
  parentOf({
    on: Order,
    field: 'supplier',
    to: Supplier,
    key: 'supplierId',
    description: 'Who it was ordered from.',
    find: (context, ids) => context.tx.supplier.findMany({ where: { id: { in: ids } } }),
  }),
  children({
    on: Order,
    field: 'lines',
    to: OrderLine,
    key: 'orderId',
    description: 'What was ordered.',
    find: linesOfOrders,
  }),
  parentOf({
    on: OrderLine,
    field: 'order',
    to: Order,
    key: 'orderId',
    description: 'The order it stands on.',
    find: async (context, ids) =>
      completeOrders(context, await context.tx.order.findMany({ where: { id: { in: ids } } })),
  }),
  children({
    on: OrderLine,
    field: 'promises',
    to: SupplierPromise,
    key: 'orderLineId',
    description: 'Each day that the supplier has named, in sequence.',
    find: (context, ids) =>
      context.tx.promise.findMany({ where: { orderLineId: { in: ids } }, orderBy: { sequence: 'asc' } }),
  }),
  children({
    on: OrderLine,
    field: 'receipts',
    to: Receipt,
    key: 'orderLineId',
    description: 'What came, oldest first.',
    find: (context, ids) =>
      context.tx.receipt.findMany({ where: { orderLineId: { in: ids } }, orderBy: [...oldestFirst] }),
  }),
  children({
    on: OrderLine,
    field: 'coreReturns',
    to: CoreReturn,
    key: 'orderLineId',
    description: 'Old parts that were sent back for it.',
    find: (context, ids) =>
      context.tx.coreReturn.findMany({ where: { orderLineId: { in: ids } }, orderBy: [...oldestFirst] }),
  }),
  children({
    on: OrderLine,
    field: 'partNeeds',
    to: PartNeed,
    key: 'orderLineId',
    description: "The tasks' needs that it is for.",
    find: async (context, ids) =>
      completeNeeds(
        context,
        await context.tx.partNeed.findMany({
          where: { orderLineId: { in: ids }, archivedAt: null },
          orderBy: [...oldestFirst],
        }),
      ),
  }),
  computed({
    on: OrderLine,
    field: 'arrival',
    to: Arrival,
    description: 'When the rest is expected; null when nothing is to come.',
    compute: arrivalsOf,
  }),
  children({
    on: Receipt,
    field: 'returns',
    to: PartReturn,
    key: 'receiptId',
    description: 'What of it went back.',
    find: (context, ids) =>
      context.tx.partReturn.findMany({ where: { receiptId: { in: ids } }, orderBy: [...oldestFirst] }),
  }),
  parentOf({
    on: PartNeed,
    field: 'stock',
    to: Stock,
    key: 'stockId',
    description: 'The bin that is held for it.',
    find: stockByIds,
  }),
  parentOf({
    on: PartNeed,
    field: 'orderLine',
    to: OrderLine,
    key: 'orderLineId',
    description: 'The order line that it comes from.',
    find: linesByIds,
  }),
  children({
    on: Task,
    field: 'partNeeds',
    to: PartNeed,
    key: 'taskId',
    description: 'The parts it needs.',
    find: needsOfTasks,
  }),
  children({
    on: Job,
    field: 'partNeeds',
    to: PartNeed,
    key: 'jobId',
    description: 'The parts its tasks need.',
    find: needsOfJobs,
  }),
  parentOf({
    on: PartNeed,
    field: 'task',
    to: Task,
    key: 'taskId',
    description: 'The task that needs it.',
    find: async (context, ids) =>
      (await context.tx.task.findMany({ where: { id: { in: ids } }, include: taskInclude })).map(withTaskStatus),
  }),
];
