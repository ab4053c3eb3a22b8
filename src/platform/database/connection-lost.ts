/** How it is told that the database went away, and when it is not known what it still did. */

/** What a broken or refused connection is called by the driver, its pool and the ORM. */
const lostKinds = new Set(['DatabaseNotReachable', 'ConnectionClosed', 'SocketTimeout']);
const lostWords = new RegExp(
  [
    'connection terminated',
    'connection ended',
    'terminating connection',
    'timeout exceeded when trying to connect',
    'client has encountered a connection error',
    'not queryable',
  ].join('|'),
  'i',
);

/** @returns whether the connection was lost or never made, rather than that the database refused something */
export function isConnectionLost(error: unknown, depth = 0): boolean {
  if (error === null || typeof error !== 'object' || depth > 6) return false;
  const one = error as Record<string, unknown>;
  if (
    typeof one.code === 'string' &&
    /^(08\w{3}|57P0[1-3]|P1001|P1002|P1008|P1017|ECONNREFUSED|ECONNRESET|EPIPE|ETIMEDOUT|ENOTFOUND)$/.test(one.code)
  )
    return true;
  if (typeof one.kind === 'string' && lostKinds.has(one.kind)) return true;
  if (typeof one.message === 'string' && lostWords.test(one.message)) return true;
  return ['cause', 'meta', 'driverAdapterError', 'error'].some((key) => isConnectionLost(one[key], depth + 1));
}

/** The connection was lost while the transaction was being kept: the database may have kept it or not. */
export class CommitUnacknowledged extends Error {
  constructor(cause: unknown) {
    super('The database did not acknowledge the commit', { cause });
  }
}
