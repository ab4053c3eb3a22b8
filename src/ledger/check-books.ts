/** Whether sums equal records: what is told of money must be what was written. Reads and changes nothing. */

/** A record whose sum is not what it should be. */
export interface Discrepancy {
  shop: string;
  check: string;
  recordId: string;
  expected: string;
  found: string;
}

const causes = { s: 'saleId', r: 'customerRefundId', o: 'buyerOfferId' };
const bookedFor = (kind: string, source: keyof typeof causes): string =>
  `coalesce((SELECT sum(e.amount) FROM "LedgerEntry" e WHERE e."shopId" = ${source}."shopId" AND e."${causes[source]}" = ${source}.id AND e.kind = '${kind}'), 0)`;

/** Each selects shop, record, what should be and what is, of all records; those that agree are left out below. */
const checks: Record<string, string> = {
  'Proceeds of a sale in the ledger': `SELECT s."shopId", s.id, CASE WHEN s."reversedDate" IS NULL THEN s.price ELSE 0 END AS expected, ${bookedFor('saleProceeds', 's')} AS found FROM "Sale" s`,
  'Tax within a price in the ledger': `SELECT s."shopId", s.id, CASE WHEN s."reversedDate" IS NULL AND s."taxScheme" = 'marginScheme' THEN s."taxCollected" ELSE 0 END, ${bookedFor('tax', 's')} FROM "Sale" s`,
  'Cost of selling in the ledger': `SELECT s."shopId", s.id, CASE WHEN s."reversedDate" IS NULL THEN s."sellingCost" ELSE 0 END, ${bookedFor('selling', 's')} FROM "Sale" s`,
  'Money paid back in the ledger': `SELECT r."shopId", r.id, CASE WHEN r."reversedDate" IS NULL THEN r.amount ELSE 0 END, ${bookedFor('customerRefund', 'r')} FROM "CustomerRefund" r`,
  'Money paid back on a sale': `SELECT s."shopId", s.id, s."customerRefundTotal", coalesce((SELECT sum(r.amount) FROM "CustomerRefund" r WHERE r."saleId" = s.id AND r."reversedDate" IS NULL), 0) FROM "Sale" s`,
  'Deposit taken': `SELECT o."shopId", o.id, o.deposit, ${bookedFor('deposit', 'o')} FROM "BuyerOffer" o`,
  'Deposit still held': `SELECT o."shopId", o.id, CASE WHEN o."depositStatus" = 'held' THEN o.deposit ELSE 0 END,
      ${bookedFor('deposit', 'o')} - ${bookedFor('depositReturned', 'o')} - ${bookedFor('depositForfeited', 'o')}
      - coalesce((SELECT sum(e.amount) FROM "LedgerEntry" e JOIN "Sale" s ON s."shopId" = e."shopId" AND s.id = e."saleId"
          WHERE s."buyerOfferId" = o.id AND e.kind = 'depositApplied'), 0) FROM "BuyerOffer" o`,
  'Stock in a bin': `SELECT b."shopId", b.id, coalesce((SELECT sum(m.change) FROM "StockMovement" m WHERE m."stockId" = b.id), 0), b.quantity FROM "Stock" b`,
  'Cost of an acquisition over its machines': `SELECT a."shopId", a.id, a.price + a."haulCost" + a.fees, (SELECT sum(m."acquisitionShare") FROM "Machine" m WHERE m."acquisitionId" = a.id)
      FROM "Acquisition" a WHERE EXISTS (SELECT FROM "Machine" m WHERE m."acquisitionId" = a.id)`,
  'A reversal and what it reverses': `SELECT e."shopId", e.id, 0, e.amount + r.amount FROM "LedgerEntry" e JOIN "LedgerEntry" r ON r."shopId" = e."shopId" AND r."reversesId" = e.id`,
  'The ask that stands and the last change of it': `SELECT o."shopId", o.id, o."askPrice", (SELECT c."askPrice" FROM "AskChange" c WHERE c."offerId" = o.id ORDER BY c."fromDate" DESC, c.id DESC LIMIT 1)
      FROM "Offer" o WHERE EXISTS (SELECT FROM "AskChange" c WHERE c."offerId" = o.id)`,
  'Sold jobs and their sales': `SELECT j."shopId", j.id, 1, (SELECT count(*) FROM "Sale" s WHERE s."jobId" = j.id AND s."reversedDate" IS NULL AND s."returnedDate" IS NULL) FROM "Job" j
      WHERE j.outcome = 'sold' AND EXISTS (SELECT FROM "Sale" s WHERE s."jobId" = j.id)`,
};

/** What more is taken off a machine than it cost. */
const limits: Record<string, string> = {
  'Parts taken off a machine carry at most what it cost': `SELECT m."shopId", m.id, m."acquisitionShare", coalesce((SELECT sum(h."basisMoved") FROM "Harvest" h WHERE h."machineId" = m.id), 0) FROM "Machine" m`,
};

/**
 * All records of all shops that the connection sees whose sums do not agree; empty when the books are right.
 * @param run executes one statement, in one transaction with the others, so that nothing moves in between
 */
export async function findDiscrepancies(
  run: (sql: string) => Promise<{ rows: Record<string, unknown>[] }>,
): Promise<Discrepancy[]> {
  const found: Discrepancy[] = [];
  for (const [all, differs] of [
    [checks, 'IS DISTINCT FROM'],
    [limits, '<'],
  ] as const)
    for (const [check, sql] of Object.entries(all)) {
      const { rows } = await run(
        `SELECT h.name AS shop, c.id::text AS id, c.expected::text AS expected, c.found::text AS found
         FROM (${sql}) AS c("shopId", id, expected, found) JOIN "Shop" h ON h.id = c."shopId"
         WHERE c.expected ${differs} c.found ORDER BY h.name, c.id`,
      );
      for (const { shop, id, expected, found: is } of rows as Record<string, string>[])
        found.push({ shop: shop!, check, recordId: id!, expected: expected!, found: is! });
    }
  return found;
}

export const checkCount = Object.keys(checks).length + Object.keys(limits).length;
