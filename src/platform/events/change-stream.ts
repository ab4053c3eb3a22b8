/** Server-sent events (WHATWG HTML, 9.2): whoever listens is told within a second of what has changed in their shop. */
import { once } from 'node:events';
import { setTimeout as sleep } from 'node:timers/promises';
import type { Request, Response } from 'express';
import { lookUp } from '../../engine/look-up.js';
import { TooMany, Unauthenticated } from '../errors.js';
import { type AppContext, type Caller, readInTransaction } from '../operation/execute.js';
import { changesAfter, lastChange } from './changes.js';

const POLL_MILLISECONDS = 700;
/** A proxy closes what says nothing; and a key may have been archived meanwhile. */
const SIGN_OF_LIFE_MILLISECONDS = 15_000;
const STREAMS_A_KEY = 20;

const open = new Map<string, number>();

/**
 * Sends an event for each change after the `Last-Event-ID` that a browser sends by itself when it comes back, after the
 * parameter `after`, or from now on. Ends when the listener hangs up, the key is archived, or the service is stopped.
 * @throws TooMany where one key listens too often
 */
export async function streamChanges(
  appContext: AppContext,
  caller: Caller,
  request: Request,
  response: Response,
): Promise<void> {
  const gone = new AbortController();
  response.once('close', () => gone.abort());
  const leave = takePlace(caller.accessKeyId ?? caller.shopId);
  try {
    // On the service's own account: a listener does not wait for what its key has under way.
    const listener: Caller = { shopId: caller.shopId, role: caller.role, accessKeyId: null };
    const asked = String(request.headers['last-event-id'] ?? request.query.after);
    const from = /^\d{1,15}$/.test(asked) ? Number(asked) : await readInTransaction(appContext, listener, lastChange);
    response.writeHead(200, {
      'Content-Type': 'text/event-stream; charset=utf-8',
      'Cache-Control': 'no-store',
      'X-Accel-Buffering': 'no',
    });
    response.write(`retry: 2000\nid: ${from}\nevent: open\ndata: {"last":${from}}\n\n`);
    await follow(appContext, caller, listener, response, from, gone.signal);
    if (!gone.signal.aborted) response.end();
  } finally {
    leave();
  }
}

function takePlace(asker: string): () => void {
  const count = open.get(asker) ?? 0;
  if (count >= STREAMS_A_KEY)
    throw new TooMany('too-many-streams', `This key listens ${STREAMS_A_KEY} times already; close some of them.`);
  open.set(asker, count + 1);
  return () => {
    const left = lookUp(open, asker) - 1;
    if (left > 0) open.set(asker, left);
    else open.delete(asker);
  };
}

/** Until the listener is gone or its key opens nothing any more. */
async function follow(
  appContext: AppContext,
  caller: Caller,
  listener: Caller,
  response: Response,
  from: number,
  gone: AbortSignal,
): Promise<void> {
  let last = from;
  let aliveAt = Date.now();
  while (!gone.aborted) {
    try {
      const due = Date.now() - aliveAt > SIGN_OF_LIFE_MILLISECONDS;
      const read = await readInTransaction(appContext, listener, async (context) => {
        if (due && !(await stillOpens(context.tx, caller))) throw new Unauthenticated();
        return changesAfter(context, last);
      });
      last = read.last;
      for (const { sequence, ...change } of read.items)
        response.write(`id: ${sequence}\nevent: change\ndata: ${JSON.stringify(change)}\n\n`);
      if (due) {
        aliveAt = Date.now();
        response.write(':\n\n');
      }
      if (response.writableNeedDrain) await once(response, 'drain', { signal: gone });
      if (read.more) continue;
    } catch (error) {
      if (error instanceof Unauthenticated) return;
      // A database that is away for a while: what is missed meanwhile is read once it is back.
    }
    await sleep(POLL_MILLISECONDS, undefined, { signal: gone, ref: false }).catch(() => {});
  }
}

async function stillOpens(tx: Parameters<typeof changesAfter>[0]['tx'], { accessKeyId }: Caller): Promise<boolean> {
  if (accessKeyId === null) return true;
  return (
    (await tx.accessKey.findFirst({ where: { id: accessKeyId, archivedAt: null }, select: { id: true } })) !== null
  );
}
