/** Makes an area's GraphQL resolvers out of its operations and relations. */
import { Inject, type Type } from '@nestjs/common';
import { Args, Context, Extensions, Mutation, Parent, Query, ResolveField, Resolver } from '@nestjs/graphql';
import DataLoader from 'dataloader';
import type { Request } from 'express';
import { z } from 'zod';
import { required } from '../../engine/look-up.js';
import { callerOf } from '../access/authenticate.js';
import { describeField } from '../descriptions/describe-field.js';
import { Forbidden } from '../errors.js';
import { APP_CONTEXT } from '../operation/app-context.js';
import { type AppContext, executeOperation, readInTransaction } from '../operation/execute.js';
import type { Operation, Relation } from '../operation/operation.js';
import { serialize } from '../operation/serialize.js';
import { unwrapSchema } from '../shapes.js';
import type { Effort } from './cost.js';
import { classOf, connectionOf, fieldOf } from './types.js';

/** A record as it was told, on which relations hang. */
type Parent = Record<string, unknown> & { id: string };

/** What one GraphQL request carries along: who asks, and the loaders that gather its look-ups. */
export interface RequestContext {
  req: Request;
  loaders: Map<Relation, DataLoader<Parent, unknown, string>>;
}

interface AreaResolver {
  appContext: AppContext;
}

function resolverClass(name: string): Type<AreaResolver> {
  class MadeResolver {
    constructor(readonly appContext: AppContext) {}
  }
  Object.defineProperty(MadeResolver, 'name', { value: name });
  Inject(APP_CONTEXT)(MadeResolver, undefined, 0);
  return MadeResolver;
}

function addMethod(
  made: Type,
  key: string,
  method: (this: AreaResolver, ...args: never[]) => unknown,
): [object, string, PropertyDescriptor] {
  const prototype = made.prototype as object;
  const descriptor: PropertyDescriptor = { value: method, writable: true, configurable: true };
  Object.defineProperty(prototype, key, descriptor);
  // Nest looks up what TypeScript would have noted of a method written by hand, though every type is told to it.
  Reflect.defineMetadata(
    'design:paramtypes',
    Array.from({ length: 100 }, () => Object),
    prototype,
    key,
  );
  return [prototype, key, descriptor];
}

/** Notes what a field takes, for the cost of the queries that ask for it. */
const effort = (method: [object, string, PropertyDescriptor], value: Effort) =>
  Extensions({ effort: value })(...method);

export function resolverOf(area: string, operations: readonly Operation[]): Type {
  const made = resolverClass(`${area}Resolver`);
  for (const operation of operations) {
    if (operation.kind === 'query') addQuery(made, operation);
    else addMutation(made, operation);
  }
  Resolver()(made);
  return made;
}

function outputType(operation: Operation) {
  const output = fieldOf(operation.output, 'output', `${operation.name}Reply`);
  if (!operation.paged) return output;
  // Made at once: Nest gathers its types before it asks any field for its own.
  const connection = connectionOf(output.type() as Type);
  return { type: () => connection, nullable: false };
}

function addQuery(made: Type, operation: Operation): void {
  const keys = Object.keys(operation.input.shape);
  const method = addMethod(made, operation.name, async function (this: AreaResolver, ...given: unknown[]) {
    const context = given[keys.length] as RequestContext;
    const input: Record<string, unknown> = {};
    keys.forEach((key, index) => {
      if (given[index] !== undefined) input[key] = given[index];
    });
    const { reply } = await executeOperation(
      this.appContext,
      operation,
      callerOf(context.req),
      plain(operation.input, input),
    );
    return operation.paged ? asConnection(reply as PageReply) : reply;
  });
  const [prototype, key] = method;
  keys.forEach((name, index) => {
    const { type, nullable, description } = fieldOf(
      operation.input.shape[name] as z.ZodType,
      'input',
      `${operation.name}${name.charAt(0).toUpperCase()}${name.slice(1)}`,
    );
    Args(name, { type: type as () => Type, nullable, description: describeField(name, description) })(
      prototype,
      key,
      index,
    );
  });
  Context()(prototype, key, keys.length);
  effort(method, { kind: 'operation', slow: operation.slow });
  // Nullable whatever the shape says, so that one that fails leaves its siblings standing.
  Query(outputType(operation).type, { name: operation.name, nullable: true, description: operation.summary })(
    ...method,
  );
}

function addMutation(made: Type, operation: Operation): void {
  const method = addMethod(
    made,
    operation.name,
    async function (this: AreaResolver, input: unknown, context: RequestContext, idempotencyKey?: string) {
      const { reply } = await executeOperation(
        this.appContext,
        operation,
        callerOf(context.req),
        plain(operation.input, input ?? {}),
        idempotencyKey ?? undefined,
      );
      return reply;
    },
  );
  const [prototype, key] = method;
  const Name = operation.name.charAt(0).toUpperCase() + operation.name.slice(1);
  const inputType = classOf(`${Name}Input`, operation.input, 'input');
  Args('input', { type: () => inputType, description: 'What the operation takes.' })(prototype, key, 0);
  Context()(prototype, key, 1);
  Args('idempotencyKey', {
    type: () => String,
    nullable: true,
    description: 'A text of your own; the same text and input give the first reply again.',
  })(prototype, key, 2);
  const { type, nullable } = outputType(operation);
  effort(method, { kind: 'operation', slow: operation.slow });
  Mutation(type, { name: operation.name, nullable, description: operation.summary })(...method);
}

/**
 * graphql-js hands over objects without a prototype and instances of input classes; the shapes want plain ones.
 * A client whose variable was left out sends null: where the shape has a default, that null stands for it.
 */
function plain(schema: z.ZodType, value: unknown): unknown {
  const def = unwrapSchema(schema).inner._zod.def as { element?: z.ZodType; shape?: Record<string, z.ZodType> };
  if (Array.isArray(value)) return value.map((one) => (def.element ? plain(def.element, one) : one));
  if (value === null || typeof value !== 'object' || !def.shape) return value;
  const { shape } = def;
  return Object.fromEntries(
    Object.entries(value)
      .map(([key, one]) => ({ key, one, field: required(shape[key], `field ${key}`) }))
      .filter(({ one, field }) => one !== null || !takesDefault(field))
      .map(({ key, one, field }) => [key, plain(field, one)]),
  );
}

function takesDefault(field: z.ZodType): boolean {
  const { hasDefault, nullable } = unwrapSchema(field);
  return hasDefault && !nullable;
}

interface PageReply {
  items: unknown[];
  cursors: string[];
  hasNextPage: boolean;
  hasPreviousPage: boolean;
}

function asConnection(page: PageReply) {
  return {
    edges: page.items.map((node, index) => ({ node, cursor: page.cursors[index] })),
    pageInfo: {
      hasNextPage: page.hasNextPage,
      hasPreviousPage: page.hasPreviousPage,
      startCursor: page.cursors[0] ?? null,
      endCursor: page.cursors[page.cursors.length - 1] ?? null,
    },
  };
}

/** One resolver class a parent type, with a field for each relation that hangs on it. */
export function relationResolvers(relations: readonly Relation[], shapes: Map<string, z.ZodObject>): Type[] {
  const byParent = groupBy(relations);
  return [...byParent].map(([parent, its]) => {
    const shape = shapes.get(parent);
    if (!shape) throw new Error(`No operation answers with ${parent}, yet relations hang on it`);
    const parentType = classOf(parent, shape, 'output');
    const made = resolverClass(`${parent}Relations`);
    for (const relation of its) addRelation(made, relation);
    Resolver(() => parentType)(made);
    return made;
  });
}

function groupBy(relations: readonly Relation[]): Map<string, Relation[]> {
  const groups = new Map<string, Relation[]>();
  for (const relation of relations) groups.set(relation.on, [...(groups.get(relation.on) ?? []), relation]);
  return groups;
}

function addRelation(made: Type, relation: Relation): void {
  const method = addMethod(
    made,
    relation.field,
    async function (this: AreaResolver, parent: Parent, context: RequestContext) {
      if (!relation.roles.includes(callerOf(context.req).role))
        throw new Forbidden(`${relation.on}.${relation.field} is for ${relation.roles.join(' or ')} keys.`);
      return loaderOf(this.appContext, relation, context).load(parent);
    },
  );
  const [prototype, key] = method;
  Parent()(prototype, key, 0);
  Context()(prototype, key, 1);
  effort(method, { kind: 'relation', slow: relation.slow });
  const { type } = fieldOf(relation.to, 'output', `${relation.on}${relation.field}`);
  ResolveField(relation.field, relation.many ? () => [type() as Type] : type, {
    nullable: !relation.many,
    description: relation.description,
  })(...method);
}

function loaderOf(appContext: AppContext, relation: Relation, context: RequestContext) {
  let loader = context.loaders.get(relation);
  if (!loader) {
    const caller = callerOf(context.req);
    const to = relation.many ? z.array(relation.to) : relation.to.nullable();
    loader = new DataLoader<Parent, unknown, string>(
      (parents) => {
        const load = () =>
          readInTransaction(appContext, caller, async (context) => {
            const loaded = await relation.load(context, [...parents]);
            const viewer = { currency: context.shop.currency, seesPrices: context.role !== 'helper' };
            // What cannot be told of one parent fails for that one alone.
            return loaded.map((one) => (one instanceof Error ? one : serialize(to, one, viewer)));
          });
        return relation.slow ? appContext.database.slowTurns.run(caller.accessKeyId, load) : load();
      },
      { cacheKeyFn: (parent) => parent.id, maxBatchSize: 1000 },
    );
    context.loaders.set(relation, loader);
  }
  return loader;
}
