/** What lower areas ask of higher ones, filled by those that answer it. */
import { paintHindrance } from '../finish/may-start.queries.js';
import { expectedCompletions } from '../plan/background/schedule-now.js';
import type { Ports } from '../platform/operation/execute.js';
import { retaxMachines } from '../resale/sale-tax.js';

export const ports: Ports = {
  expectedCompletions,
  startHindrance: paintHindrance,
  purchaseCorrected: retaxMachines,
};
