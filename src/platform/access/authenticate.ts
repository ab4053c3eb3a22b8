/** Who is asking? Settled before any operation, the same for both transports. */
import type { NextFunction, Request, Response } from 'express';
import type { Database } from '../database/database.js';
import { Unauthenticated } from '../errors.js';
import { asDomainError } from '../operation/database-errors.js';
import type { Caller } from '../operation/execute.js';
import type { Role } from '../operation/operation.js';
import { problemOf, sendProblem } from '../problems/problem.js';
import { hashSecret, keyIn, readKey, sameSecret } from './keys.js';

const callers = new WeakMap<Request, Caller>();
const absent = hashSecret('no such key');

/** @throws Unauthenticated when the request went past no access check */
export function callerOf(request: Request): Caller {
  const caller = callers.get(request);
  if (!caller) throw new Unauthenticated();
  return caller;
}

interface KeyRow {
  id: string;
  shopId: string;
  role: Role;
  /** A browser's, good for pages only. */
  isDevice: boolean;
  secretHash: Uint8Array;
}

/** @returns the caller, or undefined for a key that is malformed, unknown, archived or wrong: never told apart */
async function callerWithKey(database: Database, text: string): Promise<Caller | undefined> {
  const key = readKey(text);
  if (!key) return undefined;
  const { rows } = await database.pool.query<KeyRow>(
    'SELECT id, "shopId", role::text AS role, "isDevice", "secretHash" FROM find_access_key($1)',
    [key.publicId],
  );
  const row = rows[0];
  // The comparison is made even when there is no such key, so that the two cases take the same time.
  const same = sameSecret(key.secret, row ? row.secretHash : absent);
  return row && same && !row.isDevice ? { shopId: row.shopId, role: row.role, accessKeyId: row.id } : undefined;
}

export function authentication(database: Database) {
  return async (request: Request, response: Response, next: NextFunction): Promise<void> => {
    try {
      const key = keyIn(request);
      const caller = key ? await callerWithKey(database, key) : undefined;
      if (!caller) {
        sendProblem(
          response,
          problemOf(new Unauthenticated(key ? 'The key is not one of ours, or has been archived.' : undefined)),
        );
        return;
      }
      // Whoever has hung up waits for nothing: what is being computed for them alone may be given up.
      const gone = new AbortController();
      response.once('close', () => response.writableFinished || gone.abort());
      callers.set(request, { ...caller, signal: gone.signal });
      next();
    } catch (error) {
      next(asDomainError(error));
    }
  };
}
