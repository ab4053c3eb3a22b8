/** Opening a shop: what the command line does for an owner before there is a key to do anything with. */
import { randomUUID } from 'node:crypto';
import type { z } from 'zod';
import type { Database, Transaction } from '../platform/database/database.js';
import { checkAmount } from '../platform/money.js';
import type { ShopCreate } from './shop.shapes.js';

export type Rates = Partial<
  Pick<z.output<typeof ShopCreate>, 'hourlyValue' | 'spaceCostPerDay' | 'haulCostPerKilometre'>
>;

/** @throws Invalid for a rate finer than the currency, which would be shown as another one than is counted */
export function checkRates(rates: Rates, currency: string): void {
  for (const key of ['hourlyValue', 'spaceCostPerDay', 'haulCostPerKilometre'] as const) {
    if (rates[key] !== undefined) checkAmount(rates[key], currency, `/${key}`);
  }
}

/**
 * Opens a shop and, in the same transaction, does what `fill` wants done in it: a shop is there whole or not at all.
 */
export async function openShop<T>(
  database: Database,
  input: z.output<typeof ShopCreate>,
  fill: (tx: Transaction, shopId: string) => Promise<T>,
): Promise<{ shopId: string; filled: T }> {
  checkRates(input, input.currency);
  const shopId = randomUUID();
  const filled = await database.withShop(
    shopId,
    async (tx) => {
      await tx.shop.create({ data: { id: shopId, ...input } });
      return fill(tx, shopId);
    },
    { timeoutMilliseconds: 300_000 },
  );
  return { shopId, filled };
}

export async function listShops(database: Database): Promise<{ id: string; name: string }[]> {
  const { rows } = await database.pool.query<{ id: string; name: string }>('SELECT id, name FROM list_shops()');
  return rows;
}
