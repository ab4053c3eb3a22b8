/** What the pages are given from outside: the operations there are, and the address people reach the service by. */
import type { Operation } from '../platform/operation/operation.js';

export interface PageSettings {
  operations: ReadonlyMap<string, Operation>;
  /** PUBLIC_URL, without a slash at its end; null where it is not set. */
  publicUrl: string | null;
}
export const PAGE_SETTINGS = Symbol('page settings');
