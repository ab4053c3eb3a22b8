/** Where files are kept that are no records: a folder on this machine, or a bucket of objects elsewhere. */
import { randomUUID } from 'node:crypto';
import fs from 'node:fs/promises';
import path from 'node:path';
import { FilesAway } from '../errors.js';

export interface FileStore {
  /** Kept for good once it returns; a file of the same key is replaced. */
  put(key: string, content: Uint8Array, type: string): Promise<void>;
  /** Undefined where there is none. */
  get(key: string): Promise<Buffer | undefined>;
  /** Nothing happens where there is none. */
  remove(key: string): Promise<void>;
}

/** Which files belong to the records, for what carries both: the backup. */
export interface RecordedFiles {
  store: FileStore;
  /** A statement that gives the keys, in a column `key`. */
  keys: string;
}

const keyForm = /^[0-9a-z-]+(\/[0-9a-z.-]+)*$/;

/** @throws Error for a key that could lead out of the store */
export function checkKey(key: string): void {
  if (!keyForm.test(key) || key.split('/').some((part) => /^\.+$/.test(part)))
    throw new Error(`No key of a file: ${JSON.stringify(key)}`);
}

export function folderStore(folder: string): FileStore {
  const at = (key: string): string => {
    checkKey(key);
    return path.join(folder, key);
  };
  return {
    async put(key, content) {
      const target = at(key);
      const partial = `${target}.${randomUUID()}.partial`;
      try {
        await fs.mkdir(path.dirname(target), { recursive: true, mode: 0o700 });
        const file = await fs.open(partial, 'wx', 0o600);
        try {
          await file.writeFile(content);
          await file.sync();
        } finally {
          await file.close();
        }
        // Under its name it is whole, whenever the power fails.
        await fs.rename(partial, target);
      } catch (error) {
        await fs.rm(partial, { force: true });
        if ((error as NodeJS.ErrnoException).code === 'ENOSPC')
          throw new FilesAway('There is no room left for pictures: whoever runs the service must make room.');
        throw error;
      }
    },
    async get(key) {
      try {
        return await fs.readFile(at(key));
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
        throw error;
      }
    },
    remove: (key) => fs.rm(at(key), { force: true }),
  };
}

/** For a program that keeps none. */
export const noFiles: FileStore = {
  put: () => Promise.reject(new FilesAway('No place for pictures is set here.')),
  get: () => Promise.resolve(undefined),
  remove: () => Promise.resolve(),
};
