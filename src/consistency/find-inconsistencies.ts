import type { Transaction } from '../platform/database/database.js';
import { checks } from './checks.js';

export interface Inconsistency {
  code: string;
  rule: string;
  record: string;
  id: string;
  found: string;
}

/** Everything in the transaction's shop that does not agree with itself, by the order of the checks. */
export async function findInconsistencies(tx: Transaction): Promise<Inconsistency[]> {
  const all: Inconsistency[] = [];
  for (const { code, rule, sql } of checks) {
    const rows = await tx.$queryRawUnsafe<{ record: string; id: string; found: string }[]>(sql);
    all.push(...rows.map(({ record, id, found }) => ({ code, rule, record, id, found })));
  }
  return all;
}
