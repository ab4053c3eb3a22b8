/** What lower areas ask of higher ones, filled by those that answer it. */
import { expectedCompletions } from '../plan/background/schedule-now.js';
import type { Ports } from '../platform/operation/execute.js';

export const ports: Ports = { expectedCompletions };
