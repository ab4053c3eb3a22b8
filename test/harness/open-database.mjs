/**
 * A process that opens the database as the service does and nothing more, for tests of starting and stopping.
 * Prints `ready` with the addresses; `write` on its input makes it insert rows and print each one acknowledged.
 */
import readline from 'node:readline';
import { openDatabase } from '../../.build/src/platform/database/open.js';
import { loadSettings, StartError } from '../../.build/src/platform/settings.js';

try {
  const open = await openDatabase(loadSettings(process.env), (line) => console.error(`· ${line}`), {
    attach: process.argv.includes('--attach'),
  });
  const end = async () => {
    await open.close();
    process.exit(0);
  };
  process.on('SIGINT', end);
  process.on('SIGTERM', end);
  open.lost.then((error) => {
    console.error(error.message);
    process.exit(1);
  });
  console.log(`ready ${JSON.stringify({ adminUrl: open.adminUrl })}`);
  readline.createInterface({ input: process.stdin }).on('line', async (line) => {
    if (line === 'end') return end();
    if (line !== 'write') return;
    const pg = (await import('pg')).default;
    const owner = new pg.Client({ connectionString: open.adminUrl });
    await owner.connect();
    await owner.query('create table if not exists burst (n int primary key)');
    for (let n = 1; ; n += 1) {
      await owner.query('insert into burst values ($1)', [n]);
      console.log(n);
    }
  });
} catch (error) {
  console.error(error instanceof StartError ? error.message : error);
  process.exit(error instanceof StartError ? error.exitCode : 1);
}
