/** `npm run backup -- FILE`: everything in one file, while the service runs or not. */
import { namedFile, runCommand, say } from '../opening/command.js';
import { writeBackup } from '../platform/database/backup/backup.js';
import { openServer } from '../platform/database/open.js';
import { loadSettings, StartError } from '../platform/settings.js';

await runCommand(async ([file, ...more]) => {
  if (!file || more.length > 0) throw new StartError('Usage: npm run backup -- FILE', 2);
  const server = await openServer(loadSettings(process.env), say, { attach: true });
  try {
    const { rows, bytes } = await writeBackup(server.url, namedFile(file), new Date());
    const total = Object.values(rows).reduce((sum, count) => sum + count, 0);
    console.log(`${file}: ${total} rows of ${Object.keys(rows).length} tables, ${Math.ceil(bytes / 1024)} KiB.`);
  } finally {
    await server.stop();
  }
});
