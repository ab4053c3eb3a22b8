/** What the first start of a new database does: open a shop, give it routes, and load the demo unless told not to. */
import { loadDemo } from '../seed/demo.js';
import { standardRoutes } from '../seed/routes.js';
import type { Database } from './platform/database/database.js';
import type { Call } from './platform/operation/operation.js';
import { dayIn } from './platform/operation/perform.js';
import { noThreads } from './platform/threads/pool.js';
import { addAccessKey } from './shop/shop.operations.js';
import { listShops, openShop } from './shop/open-shop.js';
import { ShopCreate } from './shop/shop.shapes.js';
import { createRoute } from './work/routes.operations.js';

export interface FirstStart {
  shopId: string;
  /** The new owner's key; undefined when the shop was there already. */
  ownerKey?: string;
}

/** A bare shop's settings, for its owner to change. */
const bareShop = ShopCreate.parse({
  name: 'My shop',
  currency: 'USD',
  timeZone: 'UTC',
  latitude: 45,
  longitude: -75,
  unitSystem: 'metric',
  hourlyValue: '0',
  spaceCostPerDay: '0',
  haulCostPerKilometre: '0',
  taxScheme: 'none',
  taxRatePercent: 0,
  openingHours: [1, 2, 3, 4, 5].map((weekday) => ({ weekday, opens: '09:00', closes: '17:00' })),
  snowThresholdMillimetres: 25,
  readinessMarginDays: 14,
  seasonEndsOn: '03-15',
  assemblyWaitDays: 14,
});

export async function firstStart(database: Database, options: { empty: boolean; now: Date; progress: (line: string) => void }): Promise<FirstStart> {
  // Two replicas may start on one new database at once: the second waits here and then finds the shop.
  const turn = await database.pool.connect();
  try {
    // However long the other one takes to load its demo.
    await turn.query('SET statement_timeout = 0');
    await turn.query(`SELECT pg_advisory_lock(hashtext('frostwright first start'))`);
    const [shop] = await listShops(database);
    if (shop) return { shopId: shop.id };
    if (!options.empty) {
      options.progress('Loading the demo shop (invented people, machines and weather)');
      return await loadDemo(database, options.now);
    }
    const { shopId, filled } = await openShop(database, bareShop, async (tx, id) => {
      const call: Call = {
        shop: { id, currency: bareShop.currency, timeZone: bareShop.timeZone },
        role: 'owner',
        accessKeyId: null,
        tx,
        now: options.now,
        today: dayIn(options.now, bareShop.timeZone),
        compute: (work, question) => noThreads.run(work, question),
        afterCommit: () => {},
      };
      for (const route of standardRoutes) await createRoute(call, route);
      return addAccessKey(tx, id, 'Owner', 'owner');
    });
    return { shopId, ownerKey: filled.key };
  } finally {
    // The connection is given up with its lock and its setting, not handed to a request.
    turn.release(true);
  }
}
