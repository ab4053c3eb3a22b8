/** `npm run briefing`: the six answers of today, for each shop of the database, while the service runs or not. */
import { readBriefing } from '../desk/briefing/briefing.queries.js';
import { briefingText } from '../desk/briefing/briefing-text.js';
import { runCommand, say } from '../opening/command.js';
import { ports } from '../opening/ports.js';
import { openDatabase } from '../platform/database/open.js';
import { readInTransaction } from '../platform/operation/execute.js';
import { loadSettings, StartError } from '../platform/settings.js';
import { noThreads } from '../platform/workers/pool.js';
import { listShops } from '../shop/open-shop.js';

await runCommand(async () => {
  const open = await openDatabase(loadSettings(process.env), say, { attach: true });
  try {
    const shops = await listShops(open.database);
    if (shops.length === 0) throw new StartError('There is no shop yet: "npm start" opens one.');
    const appContext = {
      database: open.database,
      clock: () => new Date(),
      threads: noThreads,
      checkReplies: false,
      ports,
      reportFault: () => {},
    };
    const briefings: string[] = [];
    for (const { id } of shops)
      briefings.push(
        briefingText(
          await readInTransaction(appContext, { shopId: id, role: 'owner', accessKeyId: null }, readBriefing),
        ),
      );
    console.log(briefings.join('\n\n'));
  } finally {
    await open.close();
  }
});
