/** `npm run check`: whether sums equal records in all shops, at any time; ends with 1 when they do not. */
import { checkCount, findDiscrepancies } from '../ledger/check-books.js';
import { runCommand, say } from '../opening/command.js';
import { asAdministrator, openServer } from '../platform/database/open.js';
import { loadSettings, StartError } from '../platform/settings.js';

await runCommand(async (args) => {
  if (args.length > 0) throw new StartError('Usage: npm run check', 2);
  const server = await openServer(loadSettings(process.env), say, { attach: true });
  try {
    const found = await asAdministrator(server.url, async (client) => {
      await client.query('begin isolation level repeatable read read only');
      // Were the rows of some shops hidden from this user, that would be an error rather than a check with gaps.
      await client.query('set local row_security = off');
      return findDiscrepancies((sql) => client.query(sql));
    });
    for (const { shop, check, recordId, expected, found: is } of found)
      console.log(`${shop}: ${check} (${recordId}): ${expected} expected, ${is} found`);
    console.log(
      found.length === 0
        ? `The books are right: ${checkCount} kinds of sums equal their records.`
        : `${found.length} sums do not equal their records.`,
    );
    if (found.length > 0) process.exitCode = 1;
  } finally {
    await server.stop();
  }
});
