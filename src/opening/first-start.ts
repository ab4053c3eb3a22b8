/** What the first start of a new database does: load the demo, or open a bare shop where that is wanted. */
import { loadDemo } from '../../seed/demo.js';
import type { Database } from '../platform/database/database.js';
import { StartError } from '../platform/settings.js';
import { listShops } from '../shop/open-shop.js';
import { openBareShop, shopLine, type ShopSettings, shopSettings } from './new-shop.js';

export interface FirstStart {
  /** The new owner's key; undefined when there was a shop already. */
  ownerKey?: string;
}

/**
 * What a start is told at the prompt: nothing, or `--empty` with the settings of the shop to open.
 * @returns the settings, or null for the demo
 * @throws StartError for anything else
 */
export function wantedShop(args: readonly string[]): ShopSettings | null {
  if (args.length === 0) return null;
  if (!args.includes('--empty'))
    throw new StartError(
      `${JSON.stringify(args[0])} is not known here: the demo shop is as it is. ` +
        `"npm start -- --empty" opens a bare shop, and takes its settings.`,
      2,
    );
  return shopSettings(
    args.filter((one) => one !== '--empty'),
    false,
  );
}

/** @param wanted the bare shop to open; null for the demo */
export async function firstStart(
  database: Database,
  wanted: ShopSettings | null,
  now: Date,
  progress: (line: string) => void,
): Promise<FirstStart> {
  // Two replicas may start on one new database at once: the second waits here and then finds the shop.
  const turn = await database.pool.connect();
  try {
    // However long the other one takes to load its demo.
    await turn.query('SET statement_timeout = 0');
    await turn.query(`SELECT pg_advisory_lock(hashtext('frostwright first start'))`);
    const [shop] = await listShops(database);
    if (shop) {
      if (wanted)
        progress(`There is a shop already, ${shop.name}, so none is opened. "npm run shops -- add" opens another`);
      return {};
    }
    if (!wanted) {
      progress('Loading the demo shop (invented people, machines and weather)');
      return await loadDemo(database, now);
    }
    progress(`Opening ${shopLine(wanted)}`);
    return await openBareShop(database, wanted, now);
  } finally {
    // The connection is given up with its lock and its setting, not handed to a request.
    turn.release(true);
  }
}
