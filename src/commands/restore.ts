/** `npm run restore -- FILE`: checks a backup, then puts it into the database, all of it or nothing. */
import { namedFile, runCommand, say } from '../opening/command.js';
import { restoreBackup } from '../platform/database/backup/restore.js';
import { openServer } from '../platform/database/open.js';
import { openFiles } from '../platform/files/open-files.js';
import { loadSettings, StartError } from '../platform/settings.js';

await runCommand(async (args) => {
  const [file, ...more] = args.filter((arg) => arg !== '--replace');
  if (!file || more.length > 0) throw new StartError('Usage: npm run restore -- FILE [--replace]', 2);
  const settings = loadSettings(process.env);
  const server = await openServer(settings, say, { attach: true });
  try {
    const { manifest, rows, files } = await restoreBackup(server.url, settings.databaseRole, namedFile(file), say, {
      replace: args.includes('--replace'),
      files: openFiles(settings),
    });
    const total = Object.values(rows).reduce((sum, count) => sum + count, 0);
    console.log(
      `Restored ${total} rows of ${Object.keys(rows).length} tables and ${files} files of pictures from the backup of ${manifest.madeAt}.`,
    );
  } finally {
    await server.stop();
  }
});
