import pg from 'pg';
import { appliedMigrations, applyMigrations, knownMigrations } from '../../../../prisma/migrate.js';
import { at, last as lastOf } from '../../../engine/look-up.js';
import type { FileStore } from '../../files/file-store.js';
import { StartError } from '../../settings.js';
import type { Progress } from '../embedded/embedded.js';
import { asOwner, prepareDatabase } from '../open.js';
import { copyIn } from './copy.js';
import { BackupReader, checkBackup, type Checked, type Manifest } from './file.js';
import { tablesInOrder } from './tables.js';

/**
 * Puts a backup into a database: all of it or nothing. A backup of an older version is brought up to date on
 * the way, provided that the database is new.
 * @param options.replace give up what the database holds
 * @param options.files where the files it carries go; without it they are left out
 * @throws StartError when the file is damaged or of a newer version, or the database holds records already
 */
export async function restoreBackup(
  adminUrl: string,
  role: string,
  file: string,
  progress: Progress,
  options: { replace?: boolean; files?: FileStore } = {},
): Promise<Checked> {
  progress('Checking the backup');
  const validated = await checkBackup(file);
  const unknown = validated.manifest.migrations.filter((name) => !knownMigrations().includes(name));
  if (unknown.length > 0)
    throw new StartError(
      `The backup was made by a newer version of Frostwright (${unknown.join(', ')}). Restore it with that version.`,
    );

  await asOwner(adminUrl, progress, async (connection) => {
    await matchVersion(connection, validated.manifest);
    const client = await connection.connect();
    try {
      const tables = (await tablesInOrder(client)).map(({ table }) => `public.${pg.escapeIdentifier(table)}`);
      if (!options.replace) await refuseUnlessEmpty(client, tables);
      progress('Restoring');
      await replaceAll(client, tables, file, validated, options.files);
    } finally {
      client.release();
    }
    await applyMigrations(connection);
  });
  await prepareDatabase(adminUrl, role, progress);
  return validated;
}

/** Rows go into the tables they came from: the database is brought to the backup's version first. */
async function matchVersion(connection: pg.Pool, { migrations }: Manifest): Promise<void> {
  const last = lastOf(migrations);
  const ahead = (await appliedMigrations(connection)).filter((name) => !migrations.includes(name));
  if (ahead.length > 0) {
    throw new StartError(
      `The backup is older than this database (which has ${ahead.join(', ')} as well). Restore it ` +
        `into a new one: set DATA_DIR to a new folder, or DATABASE_URL to an empty database.`,
    );
  }
  await applyMigrations(connection, last);
}

async function refuseUnlessEmpty(client: pg.ClientBase, tables: string[]): Promise<void> {
  const { rows } = await client.query<{ used: boolean }>(
    `select ${tables.map((table) => `exists (select from ${table})`).join(' or ')} as used`,
  );
  if (at(rows, 0).used) {
    throw new StartError(
      'The database holds records already. Restore into a new one (set DATA_DIR to ' +
        'a new folder), or say --replace to give up what it holds.',
    );
  }
}

async function replaceAll(
  client: pg.ClientBase,
  tables: string[],
  file: string,
  validated: Checked,
  files: FileStore | undefined,
): Promise<void> {
  // What triggers forbid to requests, such as changing history, the backup's rows went through once already.
  const triggers = (status: 'disable' | 'enable') =>
    client.query(tables.map((table) => `alter table ${table} ${status} trigger user`).join(';'));
  await triggers('disable');
  await client.query(`truncate ${tables.join(', ')}`);
  const reader = new BackupReader(file);
  try {
    await reader.manifest();
    for (let next = await reader.next(); !('sha256' in next); next = await reader.next()) {
      if ('file' in next) {
        // Before the records are committed that name it: none is ever without its file.
        const content = await reader.content(next);
        await files?.put(next.file, content, 'image/jpeg');
        continue;
      }
      const target = `public.${pg.escapeIdentifier(next.table)} (${next.columns.map(pg.escapeIdentifier).join(', ')})`;
      const loaded = await copyIn(client, `copy ${target} from stdin`, reader.rows());
      if (loaded !== validated.rows[next.table])
        throw new Error(`${next.table}: ${loaded} rows loaded of ${validated.rows[next.table]}`);
    }
  } finally {
    await reader.close();
  }
  // References that are checked at the end of a transaction otherwise: no table may wait for its checks now.
  await client.query('set constraints all immediate');
  await triggers('enable');
}
