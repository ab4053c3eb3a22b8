import type { z } from 'zod';
import { MachineKind } from '../machines/machines.shapes.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/stored.js';
import { routeTasks, withRouteTasks, writeRouteTasks } from './routes.js';
import { Route, RouteChange, RouteCreate } from './routes.shapes.js';

/** Records a route, whether it came through a transport or from the seed. */
export async function createRoute(context: OperationContext, input: z.input<typeof RouteCreate>) {
  const { tasks, description, ...given } = RouteCreate.parse(input);
  const { id } = await context.tx.route.create({
    data: { shopId: context.shop.id, ...given, description: description ?? null },
  });
  await writeRouteTasks(context, id, tasks);
  return findOne(context.tx.route, 'route', id, withRouteTasks);
}

/** A change of a route leaves the jobs that it was laid out on alone. */
export const routeOperations = crudOperations({
  name: 'route',
  plural: 'routes',
  table: 'route',
  include: withRouteTasks,
  shape: Route,
  create: RouteCreate,
  change: RouteChange,
  filters: { machineKind: MachineKind.nullish() },
  sorts: ['name', 'createdAt'],
  onCreate: createRoute,
  // The tasks sent replace all there were; should the version turn out to be outdated, the transaction undoes it.
  async onChange(context, before, { tasks, ...columns }) {
    if (tasks) await writeRouteTasks(context, before.id, tasks);
    return columns;
  },
  complete: (_context, rows) => rows.map((row) => ({ ...row, tasks: routeTasks(row.tasks) })),
});
