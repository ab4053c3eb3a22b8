/**
 * An operation is one thing a shop can ask for or have done. It is declared once, with its shapes, and both
 * transports are made from the declaration: the REST route, the GraphQL field and the OpenAPI entry cannot
 * drift apart, because none of them is written by hand.
 */
import type { z } from 'zod';
import type { Transaction } from '../database/database.js';
import type { WorkerTask } from '../workers/worker-task.js';
import type { ExpectedCompletion } from './expected-completion.js';

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
  /** When each open job is expected to be finished, by job id: the plan fills this port. */
  expectedCompletions(): Promise<ReadonlyMap<string, ExpectedCompletion>>;
  /** What besides the order of the tasks stands against starting one: paint and the air of the room; null when nothing does. */
  startHindrance(taskId: string, at: Date): Promise<StartHindrance | null>;
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

export interface Operation {
  /** The GraphQL field and the OpenAPI operationId. */
  name: string;
  kind: 'query' | 'command';
  summary: string;
  roles: readonly Role[];
  rest: RestRoute;
  input: z.ZodObject;
  output: z.ZodType;
  /** It makes something new: REST asks for an Idempotency-Key and answers 201. */
  creates: boolean;
  /** It changes something that carries a version: REST asks for If-Match, GraphQL for `version`. */
  versioned: boolean;
  /** Its reply holds a secret, which is shown once and never stored, not even to answer a repeat. */
  confidential: boolean;
  /** It answers a page of a list. */
  paged: boolean;
  /** It may wait for a plan to be made, or another computation of seconds: few run at once, so that the rest find a connection. */
  slow: boolean;
  /** The work, with input that has passed the shape's check. It may be run again when the database could not serialise it. */
  run(context: OperationContext, input: Presentable): Promise<Presentable>;
}

/**
 * What `run` may hand over in place of the finished shape: rows as the database gave them. The presenter
 * turns dates, decimals and money into the shape's words.
 */
// eslint-disable-next-line @typescript-eslint/no-explicit-any
export type Presentable = any;

export const everyone: readonly Role[] = ['owner', 'helper', 'reader'];
export const workers: readonly Role[] = ['owner', 'helper'];
export const ownerOnly: readonly Role[] = ['owner'];
/** Those who may see prices. */
export const priceReaders: readonly Role[] = ['owner', 'reader'];

interface Declared<I extends z.ZodObject> {
  name: string;
  summary: string;
  roles?: readonly Role[];
  rest: RestRoute;
  input: I;
  output: z.ZodType;
  run(context: OperationContext, input: z.output<I>): Promise<Presentable>;
}

/** Declares an operation that only reads. Every role may call it unless `roles` says otherwise. */
export function query<I extends z.ZodObject>(declared: Declared<I> & { paged?: boolean; slow?: boolean }): Operation {
  return {
    roles: everyone,
    paged: false,
    slow: false,
    ...declared,
    kind: 'query',
    creates: false,
    versioned: false,
    confidential: false,
  };
}

/** Declares an operation that writes. Only the owner may call it unless `roles` says otherwise. */
export function command<I extends z.ZodObject>(
  declared: Declared<I> & { creates?: boolean; confidential?: boolean },
): Operation {
  return {
    roles: ownerOnly,
    creates: declared.rest.method === 'POST',
    confidential: false,
    ...declared,
    kind: 'command',
    versioned: 'version' in declared.input.shape,
    paged: false,
    slow: false,
  };
}

/**
 * A field of a GraphQL type that leads to other records. `load` is given all parents of a request at once, so a
 * list of any length costs one statement a relation.
 */
export interface Relation {
  /** The name of the shape it hangs on. */
  on: string;
  field: string;
  to: z.ZodType;
  many: boolean;
  roles: readonly Role[];
  description: string;
  /** As of an operation. */
  slow: boolean;
  /** One answer a parent, in the parents' order; an Error stands for the one parent that it is about. */
  load(context: OperationContext, parents: Presentable[]): Promise<Presentable[]>;
}

interface DeclaredRelation {
  on: z.ZodType;
  field: string;
  to: z.ZodType;
  description: string;
  roles?: readonly Role[];
  slow?: boolean;
}

/** Many children, each pointing at its parent by `key`. */
export function children(
  declared: DeclaredRelation & {
    key: string;
    find(context: OperationContext, parentIds: string[]): Promise<Presentable[]>;
  },
): Relation {
  return {
    ...relationBase(declared),
    many: true,
    async load(context, parents) {
      const found = await declared.find(
        context,
        parents.map((parent) => parent.id as string),
      );
      const byParent = new Map<string, Presentable[]>();
      for (const row of found) {
        const of = row[declared.key] as string;
        const list = byParent.get(of);
        if (list) list.push(row);
        else byParent.set(of, [row]);
      }
      return parents.map((parent) => byParent.get(parent.id as string) ?? []);
    },
  };
}

/** The one record that the parent's `key` points at, or null. */
export function parentOf(
  declared: DeclaredRelation & { key: string; find(context: OperationContext, ids: string[]): Promise<Presentable[]> },
): Relation {
  return {
    ...relationBase(declared),
    many: false,
    async load(context, parents) {
      const ids = [
        ...new Set(
          parents
            .map((parent) => parent[declared.key] as string | null)
            .filter((id): id is string => id !== null && id !== undefined),
        ),
      ];
      const found = ids.length === 0 ? [] : await declared.find(context, ids);
      const byId = new Map(found.map((row) => [row.id as string, row]));
      return parents.map((parent) => byId.get(parent[declared.key] as string) ?? null);
    },
  };
}

/** One computed answer a parent, such as a job's cost. */
export function computed(
  declared: DeclaredRelation & { compute(context: OperationContext, parents: Presentable[]): Promise<Presentable[]> },
): Relation {
  return { ...relationBase(declared), many: false, load: declared.compute };
}

function relationBase(declared: DeclaredRelation) {
  const on = (declared.on.meta() as { id?: string } | undefined)?.id;
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
