/**
 * `npm run shops`: lists the shops of the database, or opens another one beside them (`-- add --name …`). Each has its
 * own currency, place, records and keys, and sees nothing of the others.
 */
import { runCommand, say } from '../opening/command.js';
import { furtherOptions, neededOptions, openBareShop, shopLine, shopSettings } from '../opening/new-shop.js';
import { openDatabase } from '../platform/database/open.js';
import { loadSettings, StartError } from '../platform/settings.js';
import { listShops } from '../shop/open-shop.js';

const usage = `Usage: npm run shops             lists them
       npm run shops -- add …    opens another; it needs
         ${neededOptions}
       and, where the standard does not suit, takes ${furtherOptions}`;

await runCommand(async ([action, ...rest]) => {
  if (action !== undefined && action !== 'add') throw new StartError(usage, 2);
  const settings = action === 'add' ? shopSettings(rest, true) : undefined;
  const { database, close } = await openDatabase(loadSettings(process.env), say, { attach: true });
  try {
    if (settings) {
      const { shopId, ownerKey } = await openBareShop(database, settings, new Date());
      console.log(
        `Opened ${shopLine(settings)}\n  Id        ${shopId}\n  Owner key ${ownerKey}\n       ` +
          `     Shown this once; only its hash is kept. "npm run keys" makes others.`,
      );
      return;
    }
    const shops = await listShops(database);
    if (shops.length === 0) console.log('There is no shop yet: "npm start" opens one.');
    for (const { id } of shops)
      console.log(
        `${id}  ${shopLine(await database.withShop(id, (tx) => tx.shop.findUniqueOrThrow({ where: { id } })))}`,
      );
  } finally {
    await close();
  }
});
