import { records } from '../platform/operation/records.js';
import { MachineKind } from '../intake/intake.shapes.js';
import { Route, RouteChange, RouteCreate } from './routes.shapes.js';

/** Routes are kept as they were when laid out: a change of a route leaves the jobs it was applied to alone. */
export const routeOperations = records({
  name: 'route',
  plural: 'routes',
  rows: (tx) => tx.route,
  shape: Route,
  create: RouteCreate,
  change: RouteChange,
  filters: { machineKind: MachineKind.nullish() },
  sorts: ['name', 'createdAt'],
});
