/**
 * The backup file: gzip over lines of text.
 *
 *   {"format":"frostwright backup","version":1,"madeAt":…,"migrations":[…]}
 *   {"table":"Shop","columns":["id",…]}
 *   …rows as PostgreSQL's COPY writes them…
 *   \.
 *   … the other tables, each after those it refers to …
 *   {"file":"…/….jpg","bytes":123456}
 *   …its content in base64, in one line…
 *   … the other files that the rows name …
 *   {"rows":{"Shop":1,…},"files":1,"sha256":"… of every line before this one"}
 */
import { createHash } from 'node:crypto';
import fs from 'node:fs';
import { Transform } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { z } from 'zod';
import { StartError } from '../../settings.js';

export const Manifest = z.object({
  format: z.literal('frostwright backup'),
  version: z.literal(1),
  madeAt: z.string(),
  migrations: z.array(z.string()).min(1),
});
export const TableHead = z.object({ table: z.string(), columns: z.array(z.string()) });
export const FileHead = z.object({ file: z.string(), bytes: z.int().min(0) });
export const Trailer = z.object({
  rows: z.record(z.string(), z.int().min(0)),
  files: z.int().min(0),
  sha256: z.string(),
});

export type Manifest = z.infer<typeof Manifest>;
export type TableHead = z.infer<typeof TableHead>;
export type FileHead = z.infer<typeof FileHead>;
export type Trailer = z.infer<typeof Trailer>;

/** What a backup says of itself, once all of it has been read and found whole. */
export interface Checked {
  manifest: Manifest;
  rows: Record<string, number>;
  /** How many files it carries. */
  files: number;
}

export const endOfTable = '\\.\n';

/** What a compressed stream begins with: no name, no time, no system. It is the one part that no checksum covers. */
const gzipHead = Buffer.from([0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 255]);

/** Puts that head in place of the one that says which system wrote it. */
export function withPlainHead(): Transform {
  let passed = 0;
  return new Transform({
    transform(chunk: Buffer, _encoding, done) {
      if (passed < gzipHead.length) gzipHead.copy(chunk, 0, passed);
      passed += chunk.length;
      done(null, chunk);
    },
  });
}

/** Reads a backup from front to back; each table's rows must be consumed before the next table is asked for. */
export class BackupReader {
  private readonly lines: AsyncGenerator<Buffer>;
  private readonly hash = createHash('sha256');

  constructor(private readonly file: string) {
    this.lines = linesOf(file);
  }

  async manifest(): Promise<Manifest> {
    const first = await this.line();
    if (!headOf(this.file).equals(gzipHead)) throw this.damaged('its first bytes are not what belongs there');
    return this.parse(Manifest, first);
  }

  /** The next table or file, or the trailer after the last one. */
  async next(): Promise<TableHead | FileHead | Trailer> {
    const before = this.hash.copy().digest('hex');
    const next = this.parse(z.union([TableHead, FileHead, Trailer]), await this.line());
    if ('sha256' in next) {
      if (next.sha256 !== before) throw this.damaged('its checksum does not match');
      if (!(await this.lines.next()).done) throw this.damaged('something follows its end');
    }
    return next;
  }

  async *rows(): AsyncGenerator<Buffer> {
    for (;;) {
      const line = await this.line();
      if (line.length === endOfTable.length && line.toString('latin1') === endOfTable) return;
      yield line;
    }
  }

  /** The content of the file whose head was read last. */
  async content({ file, bytes }: FileHead): Promise<Buffer> {
    const content = Buffer.from((await this.line()).toString('latin1'), 'base64');
    if (content.length !== bytes) throw this.damaged(`the file ${file} is not whole`);
    return content;
  }

  async close(): Promise<void> {
    await this.lines.return(undefined);
  }

  private async line(): Promise<Buffer> {
    try {
      const { value, done } = await this.lines.next();
      if (done) throw this.damaged('it ends too early');
      this.hash.update(value);
      return value;
    } catch (error) {
      if (error instanceof StartError) throw error;
      const { code, message } = error as NodeJS.ErrnoException;
      if (code === 'ENOENT' || code === 'EACCES' || code === 'EISDIR')
        throw new StartError(`The backup ${this.file} cannot be read (${code}).`);
      throw this.damaged(message);
    }
  }

  private parse<T>(schema: z.ZodType<T>, line: Buffer): T {
    try {
      return schema.parse(JSON.parse(line.toString('utf8')));
    } catch {
      throw this.damaged('a line is not what belongs there');
    }
  }

  private damaged(reason: string): StartError {
    return new StartError(`${this.file} is not a whole Frostwright backup: ${reason}. Nothing was changed.`);
  }
}

/**
 * Reads a whole backup and compares its checksum and its counts of rows.
 * @throws StartError when anything is amiss
 */
export async function checkBackup(file: string): Promise<Checked> {
  const reader = new BackupReader(file);
  try {
    const manifest = await reader.manifest();
    const counted: Record<string, number> = {};
    let files = 0;
    for (;;) {
      const next = await reader.next();
      if ('sha256' in next) {
        const same =
          next.files === files &&
          Object.keys({ ...next.rows, ...counted }).every((table) => next.rows[table] === counted[table]);
        if (!same)
          throw new StartError(
            `${file} is not a whole Frostwright backup: its counts do not match. Nothing was changed.`,
          );
        return { manifest, rows: counted, files };
      }
      if ('file' in next) {
        await reader.content(next);
        files += 1;
        continue;
      }
      let rows = 0;
      for await (const _row of reader.rows()) rows += 1;
      counted[next.table] = rows;
    }
  } finally {
    await reader.close();
  }
}

function headOf(file: string): Buffer {
  const head = Buffer.alloc(gzipHead.length);
  const opened = fs.openSync(file, 'r');
  try {
    fs.readSync(opened, head, 0, head.length, 0);
    return head;
  } finally {
    fs.closeSync(opened);
  }
}

/** Lines with their newline. Only the newline ends one: rows may hold any other separator unescaped. */
async function* linesOf(file: string): AsyncGenerator<Buffer> {
  const source = fs.createReadStream(file);
  const content = source.pipe(createGunzip());
  source.on('error', (error) => content.destroy(error));
  let rest: Buffer = Buffer.alloc(0);
  try {
    for await (const chunk of content as AsyncIterable<Buffer>) {
      const bytes = rest.length > 0 ? Buffer.concat([rest, chunk]) : chunk;
      let from = 0;
      for (let at = bytes.indexOf(10); at >= 0; at = bytes.indexOf(10, from)) {
        yield bytes.subarray(from, at + 1);
        from = at + 1;
      }
      rest = bytes.subarray(from);
    }
    if (rest.length > 0) yield rest;
  } finally {
    source.destroy();
    content.destroy();
  }
}
