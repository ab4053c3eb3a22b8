import { children, parentOf } from '../platform/operation/operation.js';
import { Acquisition, Machine } from './machines.shapes.js';

export const machineRelations = [
  parentOf({
    on: Machine,
    field: 'acquisition',
    to: Acquisition,
    key: 'acquisitionId',
    description: 'How it came in.',
    find: (context, ids) => context.tx.acquisition.findMany({ where: { id: { in: ids } } }),
  }),
  children({
    on: Acquisition,
    field: 'machines',
    to: Machine,
    key: 'acquisitionId',
    description: 'What came in with it.',
    find: (context, ids) =>
      context.tx.machine.findMany({
        where: { acquisitionId: { in: ids } },
        orderBy: [{ createdAt: 'asc' }, { id: 'asc' }],
      }),
  }),
];
