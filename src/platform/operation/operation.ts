/**
 * An operation is one thing a shop can ask for or have done. It is declared once, with its shapes, and both
 * transports are made from the declaration: the REST route, the GraphQL field and the OpenAPI entry cannot
 * drift apart, because none of them is written by hand.
 */
import type { z } from 'zod';
import type { Transaction } from '../database/database.js';
import type { FileStore } from '../files/file-store.js';
import type { WorkerTask } from '../workers/worker-task.js';
import type { ExpectedCompletion } from './expected-completion.js';
import { groupBy } from './group-by.js';
import type { Page } from './page.js';
import type { Row } from './row.js';

export type Role = 'owner' | 'helper' | 'reader';

/** The shop as operations need it. */
export interface ShopFacts {
  id: string;
  currency: string;
  timeZone: string;
}

/** One call of one operation: who asks, when, and the transaction it runs in. */
export interface OperationContext {
  readonly shop: ShopFacts;
  readonly role: Role;
  readonly accessKeyId: string | null;
  /** Open for the length of the operation; whoever opened it ends it. */
  readonly tx: Transaction;
  /** The moment of the call. Nothing below reads a clock of its own. */
  readonly now: Date;
  /** The calendar day of `now` in the shop's time zone. */
  readonly today: string;
  /** Nobody waits for the answer, as when the demo is loaded: what is only told and never kept may be left out. */
  readonly unattended?: boolean;
  /** Aborted when whoever asked has gone away, so that nobody waits for the answer any more. */
  readonly signal?: AbortSignal;
  /**
   * Computes off the event loop, so that other calls are answered meanwhile.
   * @param signal gives it up; leave it out where others wait for the same answer
   * @throws EngineError as the work; `cancelled` when given up
   */
  compute<Q, A>(work: WorkerTask<Q, A>, question: Q, signal?: AbortSignal): Promise<A>;
  /** The address people reach the service by; null where none is set. */
  readonly publicUrl: string | null;
  /** Where pictures lie. What is put there stays, though the transaction be given up. */
  readonly files: FileStore;
  /** When each open job is expected to be finished, by job id: the plan fills this port. */
  expectedCompletions(): Promise<ReadonlyMap<string, ExpectedCompletion>>;
  /** What besides the order of the tasks stands against starting one: paint and the air of the room; null when nothing does. */
  startHindrance(taskId: string, at: Date): Promise<StartHindrance | null>;
  /** What was paid for machines has been corrected: the tax of their sales is computed anew. */
  purchaseCorrected(machineIds: readonly string[]): Promise<void>;
  /** Told to others only once the transaction has been committed. */
  afterCommit(notice: () => void | Promise<void>): void;
}

/** Why a task may not start yet. */
export interface StartHindrance {
  /** Machine-readable. */
  code: string;
  detail: string;
  /** Null where nothing tells. */
  allowedFrom: Date | null;
}

export interface RestRoute {
  method: 'GET' | 'POST' | 'PATCH' | 'PUT' | 'DELETE';
  /** Below `/v1`, with `:name` for the input's keys that stand in the path. */
  path: string;
  status?: number;
}

/**
 * @typeParam I the input's shape
 * @typeParam O the reply's shape; of one row where the reply is a page
 * @typeParam P whether it answers a page
 */
export interface Operation<
  I extends z.ZodObject = z.ZodObject,
  O extends z.ZodType = z.ZodType,
  P extends boolean = boolean,
> {
  /** The GraphQL field and the OpenAPI operationId. */
  name: string;
  kind: 'query' | 'command';
  summary: string;
  roles: readonly Role[];
  rest: RestRoute;
  input: I;
  output: O;
  /** It makes something new: REST asks for an Idempotency-Key and answers 201. */
  creates: boolean;
  /** It changes something that carries a version: REST asks for If-Match, GraphQL for `version`. */
  versioned: boolean;
  /** Its reply holds a secret, which is shown once and never stored, not even to answer a repeat. */
  confidential: boolean;
  /** It answers a page of a list. */
  paged: P;
  /**
   * It may wait for a plan to be made, or another computation of seconds: few run at once, so that the rest find a
   * connection.
   */
  slow: boolean;
  /** A query that tries a change out: it may write, and all of it is taken back before it answers. */
  trial: boolean;
  /** The work, with input that has passed the shape's check. It may be run again when the database could not serialise it. */
  run(context: OperationContext, input: z.output<I>): Promise<Answer<O, P>>;
}

/** What `run` hands over in place of the finished shape; the serializer turns it into the shape's words. */
export type Answer<O extends z.ZodType, P extends boolean> = P extends true ? Page<Row<O>> : Row<O>;

export const everyone: readonly Role[] = ['owner', 'helper', 'reader'];
export const workers: readonly Role[] = ['owner', 'helper'];
export const ownerOnly: readonly Role[] = ['owner'];
/** Those who may see prices. */
export const priceReaders: readonly Role[] = ['owner', 'reader'];

interface Declared<I extends z.ZodObject, O extends z.ZodType, P extends boolean> {
  name: string;
  summary: string;
  roles?: readonly Role[];
  rest: RestRoute;
  input: I;
  output: O;
  run(context: OperationContext, input: z.output<I>): Promise<Answer<O, P>>;
}

/** Declares an operation that only reads. Every role may call it unless `roles` says otherwise. */
export function query<I extends z.ZodObject, O extends z.ZodType, const P extends boolean = false>(
  declared: Declared<I, O, P> & { paged?: P; slow?: boolean; trial?: boolean },
): Operation<I, O, P> {
  return {
    roles: everyone,
    slow: false,
    trial: false,
    ...declared,
    // Left out, it is the default of the type parameter.
    paged: declared.paged ?? (false as P),
    kind: 'query',
    creates: false,
    versioned: false,
    confidential: false,
  };
}

/** Declares an operation that writes. Only the owner may call it unless `roles` says otherwise. */
export function command<I extends z.ZodObject, O extends z.ZodType>(
  declared: Declared<I, O, false> & { creates?: boolean; confidential?: boolean },
): Operation<I, O, false> {
  return {
    roles: ownerOnly,
    creates: declared.rest.method === 'POST',
    confidential: false,
    ...declared,
    kind: 'command',
    versioned: 'version' in declared.input.shape,
    paged: false,
    slow: false,
    trial: false,
  };
}

/**
 * A field of a GraphQL type that leads to other records. `load` is given all parents of a request at once, so a
 * list of any length costs one statement a relation.
 */
export interface Relation<On extends z.ZodObject = z.ZodObject, To extends z.ZodType = z.ZodType> {
  /** The name of the shape it hangs on. */
  on: string;
  field: string;
  to: To;
  many: boolean;
  roles: readonly Role[];
  description: string;
  /** As of an operation. */
  slow: boolean;
  /** One answer a parent, in the parents' order; an Error stands for the one parent that it is about. */
  load(context: OperationContext, parents: readonly z.output<On>[]): Promise<readonly Loaded<To>[]>;
}
type Loaded<To extends z.ZodType> = Row<To> | readonly Row<To>[] | Error | null | undefined;

interface DeclaredRelation<On extends z.ZodObject, To extends z.ZodType> {
  on: On;
  field: string;
  to: To;
  description: string;
  roles?: readonly Role[];
  slow?: boolean;
}
/** A field of the shape that holds an id. */
type KeyOf<S extends z.ZodObject> = Extract<keyof z.output<S>, string>;
type WithId<T> = T & { readonly id: string };

/** Many children, each pointing at its parent by `key`. */
export function children<On extends z.ZodObject, To extends z.ZodObject, const K extends string>(
  declared: DeclaredRelation<On, To> & {
    key: K;
    find(
      context: OperationContext,
      parentIds: string[],
    ): Promise<readonly (Row<To> & { readonly [key in K]: string | null })[]>;
  },
): Relation<On, To> {
  return {
    ...relationBase(declared),
    many: true,
    async load(context, parents) {
      const ids = parents.map(idOf);
      const byParent = groupBy(await declared.find(context, ids), (row) => row[declared.key]);
      return ids.map((id) => byParent.get(id) ?? []);
    },
  };
}

/** The one record that the parent's `key` points at, or null. */
export function parentOf<On extends z.ZodObject, To extends z.ZodObject>(
  declared: DeclaredRelation<On, To> & {
    key: KeyOf<On>;
    find(context: OperationContext, ids: string[]): Promise<readonly WithId<Row<To>>[]>;
  },
): Relation<On, To> {
  return {
    ...relationBase(declared),
    many: false,
    async load(context, parents) {
      const keys = parents.map((parent) => parent[declared.key] as string | null);
      const ids = [...new Set(keys.filter((id) => id !== null))];
      const found = ids.length === 0 ? [] : await declared.find(context, ids);
      const byId = new Map(found.map((row) => [row.id, row]));
      return keys.map((id) => (id === null ? null : (byId.get(id) ?? null)));
    },
  };
}

/** One computed answer a parent, such as a job's cost. */
export function computed<On extends z.ZodObject, To extends z.ZodType>(
  declared: DeclaredRelation<On, To> & {
    compute(
      context: OperationContext,
      parents: readonly z.output<On>[],
    ): Promise<readonly (Row<To> | Error | null | undefined)[]>;
  },
): Relation<On, To> {
  return { ...relationBase(declared), many: false, load: declared.compute };
}

// Every shape that relations hang on is a record with an id.
const idOf = (record: unknown): string => (record as { id: string }).id;

function relationBase<On extends z.ZodObject, To extends z.ZodType>(declared: DeclaredRelation<On, To>) {
  const on = declared.on.meta()?.id;
  if (!on) throw new Error(`The relation ${declared.field} hangs on a shape without a name`);
  return {
    on,
    field: declared.field,
    to: declared.to,
    roles: declared.roles ?? everyone,
    description: declared.description,
    slow: declared.slow ?? false,
  };
}
