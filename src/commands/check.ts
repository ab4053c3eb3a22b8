/** `npm run check`: do the records of every shop agree with themselves? Reads only; exit code 1 when something does not. */
import { checks } from '../consistency/checks.js';
import { findInconsistencies } from '../consistency/find-inconsistencies.js';
import { runCommand, say } from '../opening/command.js';
import { openDatabase } from '../platform/database/open.js';
import { loadSettings, StartError } from '../platform/settings.js';
import { listShops } from '../shop/open-shop.js';

await runCommand(async (args) => {
  if (args.length > 0) throw new StartError('Usage: npm run check', 2);
  const { database, close } = await openDatabase(loadSettings(process.env), say, { attach: true });
  try {
    const shops = await listShops(database);
    let count = 0;
    for (const shop of shops) {
      for (const one of await database.withShop(shop.id, findInconsistencies)) {
        count += 1;
        console.log(`${shop.name}: ${one.record} ${one.id}: ${one.found}. ${one.rule} (${one.code})`);
      }
    }
    console.log(`${checks.length} checks of ${shops.length} ${shops.length === 1 ? 'shop' : 'shops'}: ${count} found.`);
    if (count > 0) process.exitCode = 1;
  } finally {
    await close();
  }
});
