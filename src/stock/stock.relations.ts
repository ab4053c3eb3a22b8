import { Machine } from '../machines/machines.shapes.js';
import { children, parentOf } from '../platform/operation/operation.js';
import { completeStock } from './reservations.js';
import { Harvest, Stock, StockMovement } from './stock.shapes.js';

const oldestFirst = [{ createdAt: 'asc' }, { id: 'asc' }] as const;

export const stockRelations = [
  children({
    on: Stock,
    field: 'movements',
    to: StockMovement,
    key: 'stockId',
    description: 'How the quantity came about, oldest first.',
    find: (context, ids) =>
      context.tx.stockMovement.findMany({ where: { stockId: { in: ids } }, orderBy: [...oldestFirst] }),
  }),
  parentOf({
    on: Stock,
    field: 'harvest',
    to: Harvest,
    key: 'harvestId',
    description: 'What it was taken off with.',
    find: (context, ids) => context.tx.harvest.findMany({ where: { id: { in: ids } } }),
  }),
  parentOf({
    on: Harvest,
    field: 'machine',
    to: Machine,
    key: 'machineId',
    description: 'The donor.',
    find: (context, ids) => context.tx.machine.findMany({ where: { id: { in: ids } } }),
  }),
  children({
    on: Harvest,
    field: 'stock',
    to: Stock,
    key: 'harvestId',
    description: 'The parts that came off.',
    find: async (context, ids) =>
      completeStock(
        context,
        await context.tx.stock.findMany({ where: { harvestId: { in: ids } }, orderBy: [...oldestFirst] }),
      ),
  }),
];
