import type { Transaction } from '../database/database.js';

/**
 * Takes the lock under which a shop's changes are numbered, as inserting an audit entry does, and holds it until the commit.
 * Whoever is going to write both an audit entry and the shop's plan request takes it first: every other command numbers its
 * change before its deferred triggers reach the plan request, and two orders would wait for each other.
 */
export async function lockChanges(tx: Transaction, shopId: string): Promise<void> {
  await tx.$executeRaw`select pg_advisory_xact_lock(hashtextextended('changes of ' || ${shopId}::text, 0))`;
}
