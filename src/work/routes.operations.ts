import type { z } from 'zod';
import { MachineKind } from '../machines/machines.shapes.js';
import { records } from '../platform/operation/crud-operations.js';
import type { OperationContext } from '../platform/operation/operation.js';
import { Route, RouteChange, RouteCreate } from './routes.shapes.js';

/** Records a route, whether it came through a transport or from the seed. */
export function createRoute(context: OperationContext, input: z.input<typeof RouteCreate>) {
  const { description, ...given } = RouteCreate.parse(input);
  return context.tx.route.create({ data: { shopId: context.shop.id, ...given, description: description ?? null } });
}

/** A change of a route leaves the jobs that it was laid out on alone. */
export const routeOperations = records({
  name: 'route',
  plural: 'routes',
  rows: (tx) => tx.route,
  shape: Route,
  create: RouteCreate,
  change: RouteChange,
  filters: { machineKind: MachineKind.nullish() },
  sorts: ['name', 'createdAt'],
  onCreate: createRoute,
});
