import { createHash } from 'node:crypto';
import { once } from 'node:events';
import fs from 'node:fs';
import { pipeline } from 'node:stream/promises';
import { createGzip } from 'node:zlib';
import pg from 'pg';
import { appliedMigrations } from '../../../../prisma/migrate.js';
import type { RecordedFiles } from '../../files/file-store.js';
import { StartError } from '../../settings.js';
import { asAdministrator } from '../open.js';
import { copyOut } from './copy.js';
import { endOfTable, type FileHead, type Manifest, type TableHead, type Trailer, withPlainHead } from './file.js';
import { tablesInOrder } from './tables.js';

export interface BackupSummary {
  rows: Record<string, number>;
  bytes: number;
  /** How many files it carries. */
  files: number;
  /** Files that the records name and the store does not have. */
  missing: string[];
}

/**
 * Writes everything the shops have recorded into one file, as it stood at one moment; the service may run on.
 * The files that records name are carried along. The backup appears under its name only when it is complete, readable by its owner alone.
 * @throws StartError when the file exists, cannot be written, or there is nothing to write
 */
export async function writeBackup(
  adminUrl: string,
  file: string,
  now: Date,
  recorded?: RecordedFiles,
): Promise<BackupSummary> {
  if (fs.existsSync(file)) throw new StartError(`${file} exists already. Name a new file, or remove that one.`);
  const partial = `${file}.partial`;
  try {
    const written = await asAdministrator(adminUrl, (client) => writeAll(client, partial, now, recorded));
    fs.renameSync(partial, file);
    return { ...written, bytes: fs.statSync(file).size };
  } catch (error) {
    fs.rmSync(partial, { force: true });
    const { code, syscall } = error as NodeJS.ErrnoException;
    if (code && syscall && ['open', 'write', 'rename'].includes(syscall))
      throw new StartError(`The backup could not be written to ${file} (${code}).`);
    throw error;
  }
}

async function writeAll(
  client: pg.Client,
  file: string,
  now: Date,
  recorded: RecordedFiles | undefined,
): Promise<Omit<BackupSummary, 'bytes'>> {
  await client.query('begin isolation level repeatable read read only');
  // Were the rows of some shops hidden from this user, that would be an error rather than a backup with gaps.
  await client.query('set local row_security = off');
  const migrations = await appliedMigrations(client);
  if (migrations.length === 0) throw new StartError('This database holds no shop yet: there is nothing to back up.');

  const zip = createGzip();
  const hash = createHash('sha256');
  const written = pipeline(zip, withPlainHead(), fs.createWriteStream(file, { mode: 0o600, flush: true }));
  const put = (data: Buffer | string) => {
    hash.update(data);
    return zip.write(data);
  };
  const putJson = (data: Manifest | TableHead | FileHead | Trailer) => put(`${JSON.stringify(data)}\n`);

  async function putFiles(): Promise<Pick<BackupSummary, 'files' | 'missing'>> {
    const missing: string[] = [];
    let files = 0;
    if (!recorded) return { files, missing };
    for (const { key } of (await client.query<{ key: string }>(recorded.keys)).rows) {
      const content = await recorded.store.get(key);
      if (!content) {
        missing.push(key);
        continue;
      }
      putJson({ file: key, bytes: content.length });
      // What the disk has not taken yet must not fill the memory.
      if (!put(`${content.toString('base64')}\n`)) await once(zip, 'drain');
      files += 1;
    }
    return { files, missing };
  }

  async function putAll(): Promise<Omit<BackupSummary, 'bytes'>> {
    putJson({ format: 'frostwright backup', version: 1, madeAt: now.toISOString(), migrations });
    const rows: Record<string, number> = {};
    for (const { table, columns } of await tablesInOrder(client)) {
      putJson({ table, columns });
      const named = columns.map(pg.escapeIdentifier).join(', ');
      rows[table] = await copyOut(client, `copy public.${pg.escapeIdentifier(table)} (${named}) to stdout`, put, zip);
      put(endOfTable);
    }
    const carried = await putFiles();
    putJson({ rows, files: carried.files, sha256: hash.copy().digest('hex') });
    zip.end();
    return { rows, ...carried };
  }

  // A disk that fills up ends `written` while the rest still waits for it.
  const [summary] = await Promise.all([
    Promise.race([putAll(), written.then(() => new Promise<never>(() => {}))]),
    written,
  ]);
  await client.query('commit');
  return summary;
}
