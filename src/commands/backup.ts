/** `npm run backup -- FILE`: everything in one file, while the service runs or not. */
import { namedFile, runCommand, say } from '../opening/command.js';
import { pictureKeys } from '../pictures/picture-files.js';
import { writeBackup } from '../platform/database/backup/backup.js';
import { openServer } from '../platform/database/open.js';
import { openFiles } from '../platform/files/open-files.js';
import { loadSettings, StartError } from '../platform/settings.js';

await runCommand(async ([file, ...more]) => {
  if (!file || more.length > 0) throw new StartError('Usage: npm run backup -- FILE', 2);
  const settings = loadSettings(process.env);
  const server = await openServer(settings, say, { attach: true });
  try {
    const recorded = { store: openFiles(settings), keys: pictureKeys };
    const { rows, bytes, files, missing } = await writeBackup(server.url, namedFile(file), new Date(), recorded);
    const total = Object.values(rows).reduce((sum, count) => sum + count, 0);
    console.log(
      `${file}: ${total} rows of ${Object.keys(rows).length} tables, ${files} files of pictures, ${Math.ceil(bytes / 1024)} KiB.`,
    );
    if (missing.length > 0)
      console.log(`${missing.length} files of pictures are gone from the store and not in the backup: ${missing[0]} …`);
  } finally {
    await server.stop();
  }
});
