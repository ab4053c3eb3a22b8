/**
 * Performs one operation for one caller: may they, is the input right, is it a repeat; then the work in one
 * transaction; then, after the commit, what others are told.
 */
import { createHash, randomUUID } from 'node:crypto';
import { Temporal } from 'temporal-polyfill';
import { z } from 'zod';
import { EngineError } from '../../engine/error.js';
import type { Database, Transaction } from '../database/database.js';
import {
  Conflict,
  Forbidden,
  Invalid,
  OutcomeUnknown,
  Refused,
  StorageFull,
  Unavailable,
  Unreadable,
} from '../errors.js';
import { type FileStore, noFiles } from '../files/file-store.js';
import type { Threads } from '../workers/pool.js';
import { asDomainError } from './database-errors.js';
import type { ExpectedCompletion } from './expected-completion.js';
import type { Answer, Operation, OperationContext, Role, ShopFacts, StartHindrance } from './operation.js';
import type { Page } from './page.js';
import { serialize } from './serialize.js';
import { validated } from './validate.js';

/** Who is calling: settled by the access check before any operation. */
export interface Caller {
  shopId: string;
  role: Role;
  accessKeyId: string | null;
  /** As read for this request already. */
  shop?: ShopFacts | undefined;
  /** Aborted when the caller's connection has ended before the answer. */
  signal?: AbortSignal;
}

export interface OperationResult {
  reply: unknown;
  /** Set when this was a repeat and the first reply was given again. */
  replayed: boolean;
}

export interface AppContext {
  database: Database;
  clock: () => Date;
  /** Where the engines' longer computations are done. */
  threads: Threads;
  /** The address people reach the service by; links and QR codes are made from it, and without it there are none. */
  publicUrl?: string | null;
  /** Where pictures lie; without it none can be kept. */
  files?: FileStore;
  /** Replies are checked against their shapes: on in tests, where a false OpenAPI document must fail. */
  checkReplies: boolean;
  /** What lower areas ask of higher ones; the app fills it. */
  ports: Ports;
  /** The measures of the service are told to whoever asks; else to owners' keys only. */
  openMetrics?: boolean;
  reportFault(error: unknown, where: string): void;
}

export interface Ports {
  /** When each open job is expected to be finished, by job id. */
  expectedCompletions(context: OperationContext): Promise<ReadonlyMap<string, ExpectedCompletion>>;
  /** What besides their order stands against starting a task. */
  startHindrance(context: OperationContext, taskId: string, at: Date): Promise<StartHindrance | null>;
  /** What was paid for machines has been corrected: what is computed from it is computed anew. */
  purchaseCorrected(context: OperationContext, machineIds: readonly string[]): Promise<void>;
}

/**
 * @param input as the transport read it; it is validated here, once, for every transport
 * @param idempotencyKey the caller's key for a command, if it gave one
 * @throws DomainError and nothing else that a caller is meant to understand
 */
export async function executeOperation(
  appContext: AppContext,
  operation: Operation,
  caller: Caller,
  input: unknown,
  idempotencyKey?: string,
): Promise<OperationResult> {
  if (!operation.roles.includes(caller.role)) {
    throw new Forbidden(
      `${operation.name} is for ${operation.roles.join(' or ')} keys; yours is a ${caller.role} key.`,
    );
  }
  if (idempotencyKey !== undefined && !/^[\x20-\x7e]{1,200}$/.test(idempotencyKey)) {
    throw new Unreadable('bad-idempotency-key', 'The Idempotency-Key must have 1 to 200 printable ASCII characters.');
  }
  const read = validated(operation.input, input);
  const notices: (() => void | Promise<void>)[] = [];
  const turn = <T>(work: () => Promise<T>) =>
    operation.slow ? appContext.database.slowTurns.run(caller.accessKeyId, work) : work();
  const performed = await turn(() =>
    inTransaction(
      appContext,
      caller,
      async (context) => {
        // They may have hung up while others had their turn.
        if (operation.slow && caller.signal?.aborted)
          throw new Refused('cancelled', 'Nobody waits for the answer any more.');
        const work = async () => reply(appContext, operation, context, await runAudited(operation, context, read));
        if (operation.kind === 'command' && idempotencyKey !== undefined)
          return once(context, operation, idempotencyKey, read, work);
        return { reply: await work(), replayed: false };
      },
      { notices, readOnly: operation.kind === 'query' && !operation.trial },
    ),
  ).catch((error: unknown) => {
    if (error instanceof StorageFull) appContext.database.storageFull = true;
    throw error instanceof OutcomeUnknown ? unknownOf(operation, idempotencyKey) : error;
  });
  if (operation.kind === 'command') appContext.database.storageFull = false;
  for (const notice of notices) {
    try {
      await notice();
    } catch (error) {
      appContext.reportFault(error, `after ${operation.name}`);
    }
  }
  return performed;
}

/** A read that ended without its last word has changed nothing; a write tells how to find out. */
function unknownOf(operation: Operation, idempotencyKey: string | undefined): Unavailable | OutcomeUnknown {
  if (operation.kind === 'query') return new Unavailable();
  return new OutcomeUnknown(
    idempotencyKey !== undefined
      ? 'Send it again with the same Idempotency-Key: it is recorded once, whichever it was.'
      : 'Read the record again before you send it again.',
  );
}

/** As `inTransaction`, for what only reads: the database itself refuses to write. */
export const readInTransaction = <T>(
  appContext: AppContext,
  caller: Caller,
  work: (context: OperationContext) => Promise<T>,
): Promise<T> => inTransaction(appContext, caller, work, { readOnly: true });

/** Opens the caller's transaction and makes the call's context; errors of the database and engines get their words. */
export async function inTransaction<T>(
  appContext: AppContext,
  caller: Caller,
  work: (context: OperationContext) => Promise<T>,
  { notices = [], readOnly = false }: { notices?: (() => void | Promise<void>)[]; readOnly?: boolean } = {},
): Promise<T> {
  const now = appContext.clock();
  try {
    const { database } = appContext;
    const inTurn = () =>
      database.withShop(
        caller.shopId,
        async (tx) => {
          // What an attempt that the database gave up would have told stays untold.
          notices.length = 0;
          const shop = await shopFacts(tx, caller, readOnly);
          const context: OperationContext = {
            shop,
            role: caller.role,
            accessKeyId: caller.accessKeyId,
            tx,
            now,
            today: dayIn(now, shop.timeZone),
            ...(caller.signal ? { signal: caller.signal } : {}),
            compute: (computation, question, signal) =>
              appContext.threads.run(computation, question, signal ? { signal } : {}),
            files: appContext.files ?? noFiles,
            publicUrl: appContext.publicUrl ?? null,
            expectedCompletions: () => appContext.ports.expectedCompletions(context),
            startHindrance: (taskId, at) => appContext.ports.startHindrance(context, taskId, at),
            purchaseCorrected: (machineIds) => appContext.ports.purchaseCorrected(context, machineIds),
            afterCommit: (notice) => notices.push(notice),
          };
          return work(context);
        },
        { retry: true, readOnly, now },
      );
    return await database.turns.run(caller.accessKeyId, inTurn);
  } catch (error) {
    if (error instanceof EngineError) {
      throw error.path
        ? new Invalid([{ detail: error.message, pointer: error.path }], error.code)
        : new Refused(error.code, error.message);
    }
    throw asDomainError(error);
  }
}

export const dayIn = (moment: Date, timeZone: string): string =>
  Temporal.Instant.fromEpochMilliseconds(moment.getTime()).toZonedDateTimeISO(timeZone).toPlainDate().toString();

/** Reads of one request share them; what writes reads them anew, and so does what comes after it. */
async function shopFacts(tx: Transaction, caller: Caller, readOnly: boolean): Promise<ShopFacts> {
  if (readOnly && caller.shop) return caller.shop;
  const { shopId } = caller;
  const shop = await tx.shop.findFirst({ where: { id: shopId }, select: { id: true, currency: true, timeZone: true } });
  if (!shop) throw new Forbidden('The shop of this key no longer exists.');
  caller.shop = readOnly ? shop : undefined;
  return shop;
}

/**
 * Runs an operation inside a call that is already open, for a caller that is the program itself: the demo's loading.
 * @throws Invalid when the input is not the operation's shape
 */
export function runWithin<I extends z.ZodObject, O extends z.ZodType, P extends boolean>(
  context: OperationContext,
  operation: Operation<I, O, P>,
  input: unknown,
): Promise<Answer<O, P>> {
  return runAudited(operation, context, validated(operation.input, input));
}

async function runAudited<I extends z.ZodObject, O extends z.ZodType, P extends boolean>(
  operation: Operation<I, O, P>,
  context: OperationContext,
  input: z.output<I>,
): Promise<Answer<O, P>> {
  const entryId = randomUUID();
  // What the database writes down of the changes names the entry; the first filling of a shop has no before.
  if (operation.kind === 'command' && !context.unattended)
    await context.tx.$queryRaw`select set_config('app.audit_entry', ${entryId}, true)`;
  const result = operation.trial
    ? await triedOut(context, () => operation.run(context, input))
    : await operation.run(context, input);
  if (operation.kind === 'command') {
    const subjectId = idIn(result) ?? idIn(input) ?? null;
    await context.tx.auditEntry.create({
      data: {
        id: entryId,
        shopId: context.shop.id,
        accessKeyId: context.accessKeyId,
        operation: operation.name,
        subjectId,
        reason: reasonIn(input),
      },
    });
  }
  return result;
}

/** Why, where the input says so: kept with the entry, so that every correction has its reason. */
export const reasonIn = (input: unknown): string | null => {
  const { reason } = input as { reason?: unknown };
  return typeof reason === 'string' ? reason : null;
};

const idIn = (record: unknown): string | undefined => (record as { id?: string } | null)?.id;

/**
 * What a change would do: it is written, looked at, and taken back with everything that heard of it, locks included.
 * @returns what the work tells, which is told nobody else
 */
export async function triedOut<T>(context: OperationContext, work: () => Promise<T>): Promise<T> {
  await context.tx.$executeRaw`savepoint tried_out`;
  const told = await work();
  await context.tx.$executeRaw`rollback to savepoint tried_out`;
  return told;
}

function reply(appContext: AppContext, operation: Operation, context: OperationContext, result: unknown): unknown {
  const viewer = { currency: context.shop.currency, seesPrices: context.role !== 'helper' };
  const shownAs = (schema: z.ZodType, value: unknown) => {
    const shown = serialize(schema, value, viewer);
    if (appContext.checkReplies) {
      const sound = schema.safeParse(shown);
      if (!sound.success)
        throw new Error(`${operation.name} gave a reply that is not its shape: ${z.prettifyError(sound.error)}`);
    }
    return shown;
  };
  if (!operation.paged) return shownAs(operation.output, result);
  const page = result as Page<unknown>;
  return {
    items: page.rows.map((row) => shownAs(operation.output, row.node)),
    cursors: page.rows.map((row) => row.cursor),
    hasNextPage: page.hasNextPage,
    hasPreviousPage: page.hasPreviousPage,
  };
}

/**
 * Same key and input: the first reply again. The reply is stored in the work's own transaction, so it exists
 * exactly if the work does; the advisory lock makes a second request, on whichever replica, see the first in flight.
 */
async function once(
  context: OperationContext,
  operation: Operation,
  key: string,
  input: unknown,
  work: () => Promise<unknown>,
): Promise<OperationResult> {
  const { tx } = context;
  const owner = context.accessKeyId;
  if (!owner) return { reply: await work(), replayed: false };
  // A key holds for the shop: who signed in anew may repeat what was sent before. A reply with prices is not for a helper.
  const seen = context.role === 'helper' ? 'without prices' : '';
  const fingerprint = createHash('sha256').update(`${operation.name}\0${seen}`).update(canonical(input)).digest('hex');
  const lock = createHash('sha256').update(`${context.shop.id}\0${key}`).digest().readBigInt64BE(0);
  const [{ locked } = { locked: false }] = await tx.$queryRaw<
    { locked: boolean }[]
  >`SELECT pg_try_advisory_xact_lock(${lock}) AS locked`;
  if (!locked)
    throw new Conflict(
      'in-flight',
      'The first request with this Idempotency-Key is still being worked on; try again shortly.',
    );
  const earlier = await tx.idempotentReply.findFirst({ where: { key } });
  if (earlier) {
    if (earlier.fingerprint !== fingerprint) {
      throw new Refused(
        'idempotency-key-reused',
        'This Idempotency-Key was used for another request; take a new key for a new request.',
      );
    }
    if (operation.confidential)
      throw new Conflict(
        'already-done',
        'That request was carried out; its reply held a secret that is shown only once.',
      );
    // Kept as text, so that its fields come in the order they first came in; those of older versions were not.
    return { reply: typeof earlier.reply === 'string' ? JSON.parse(earlier.reply) : earlier.reply, replayed: true };
  }
  const made = await work();
  await tx.idempotentReply.create({
    data: {
      shopId: context.shop.id,
      accessKeyId: owner,
      key,
      operation: operation.name,
      fingerprint,
      status: operation.rest.status ?? 200,
      reply: operation.confidential ? {} : JSON.stringify(made),
    },
  });
  return { reply: made, replayed: false };
}

/** JSON with its keys in order, so that the same input has the same text. */
export function canonical(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(canonical).join(',')}]`;
  if (value instanceof Date) return JSON.stringify(value);
  if (value !== null && typeof value === 'object') {
    const entries = Object.entries(value).filter(([, one]) => one !== undefined);
    return `{${entries
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([k, one]) => `${JSON.stringify(k)}:${canonical(one)}`)
      .join(',')}}`;
  }
  return JSON.stringify(value) ?? 'null';
}
