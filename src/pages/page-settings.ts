/** What the pages are given from outside: the operations there are. */
import type { Operation } from '../platform/operation/operation.js';

export interface PageSettings {
  operations: ReadonlyMap<string, Operation>;
}
export const PAGE_SETTINGS = Symbol('page settings');
