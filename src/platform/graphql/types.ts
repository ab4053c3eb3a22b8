/**
 * GraphQL types out of zod shapes: the shape is the only definition, these classes are its shadow.
 */
import type { Type } from '@nestjs/common';
import {
  Field,
  Float,
  ID,
  InputType,
  Int,
  ObjectType,
  registerEnumType,
  type ReturnTypeFuncValue,
} from '@nestjs/graphql';
import { GraphQLError, GraphQLScalarType, Kind } from 'graphql';
import type { z } from 'zod';
import { describeField } from '../descriptions/describe-field.js';
import { scalarOf, unwrapSchema } from '../shapes.js';

const textScalar = (name: string, description: string) =>
  new GraphQLScalarType<string, string>({
    name,
    description,
    serialize: (value) => String(value),
    parseValue: (value) => {
      if (typeof value !== 'string') throw new GraphQLError(`${name} must be given as text.`);
      return value;
    },
    parseLiteral: (node) => {
      if (node.kind !== Kind.STRING) throw new GraphQLError(`${name} must be given as text.`, { nodes: node });
      return node.value;
    },
  });

const scalars = {
  ID,
  Int,
  Float,
  Money: textScalar('Money', 'An amount in the shop\'s currency as a decimal string, such as "129.95".'),
  Day: textScalar('Day', 'A calendar day without a zone, such as "2026-04-30".'),
  Instant: textScalar('Instant', 'A moment in RFC 3339, such as "2026-04-30T09:00:00-05:00".'),
  JSON: new GraphQLScalarType({ name: 'JSON', description: 'Any JSON value.' }),
};

type Way = 'output' | 'input';
const classes = new Map<string, { schema: z.ZodType; type: Type }>();
const enums = new Map<string, object>();

export interface GraphQLField {
  type: () => ReturnTypeFuncValue;
  nullable: boolean;
  description?: string;
}

/**
 * The GraphQL type of a shape's field.
 * @param where for the message when a shape cannot be told in GraphQL, which is a fault of the shape
 */
export function fieldOf(schema: z.ZodType, way: Way, where: string): GraphQLField {
  const { inner, optional, nullable, hasDefault, metas } = unwrapSchema(schema);
  const described = metas.find((meta) => meta.description && !meta.id)?.description;
  const base = {
    nullable: optional || nullable || (way === 'input' && hasDefault),
    ...(described ? { description: described } : {}),
  };
  const scalar = scalarOf(metas);
  if (scalar) return { ...base, type: () => scalars[scalar] };
  const def = inner._zod.def as { type: string; element?: z.ZodType; entries?: Record<string, string>; check?: string };
  const id = metas.find((meta) => meta.id)?.id;
  switch (def.type) {
    case 'string':
      return { ...base, type: () => String };
    case 'boolean':
      return { ...base, type: () => Boolean };
    case 'number':
      return { ...base, type: () => (def.check === 'number_format' ? Int : Float) };
    case 'enum': {
      if (!id) return { ...base, type: () => String };
      const made = enumOf(id, def.entries ?? {}, metas.find((meta) => meta.id)?.description);
      return { ...base, type: () => made };
    }
    case 'literal':
      return { ...base, type: () => String };
    case 'array': {
      const element = fieldOf(def.element as z.ZodType, way, `${where}[]`);
      return { ...base, type: () => [element.type() as Type] };
    }
    case 'object': {
      const name = id ?? where;
      const type = classOf(name, inner as z.ZodObject, way);
      return { ...base, type: () => type };
    }
    default:
      throw new Error(`${where}: a ${def.type} cannot be told in GraphQL`);
  }
}

function enumOf(name: string, entries: Record<string, string>, description?: string): object {
  let made = enums.get(name);
  if (!made) {
    made = { ...entries };
    enums.set(name, made);
    registerEnumType(made, { name, ...(description ? { description } : {}) });
  }
  return made;
}

/** @throws Error when two shapes claim one name */
export function classOf(id: string, schema: z.ZodObject, way: Way): Type {
  const name = way === 'input' && !id.endsWith('Input') ? `${id}Input` : id;
  const earlier = classes.get(name);
  if (earlier) {
    if (earlier.schema !== schema) throw new Error(`Two shapes are called ${name}`);
    return earlier.type;
  }
  const made = class {};
  Object.defineProperty(made, 'name', { value: name });
  classes.set(name, { schema, type: made });
  for (const [key, field] of Object.entries(schema.shape as Record<string, z.ZodType>)) {
    const { type, nullable, description } = fieldOf(field, way, `${id}${key.charAt(0).toUpperCase()}${key.slice(1)}`);
    Field(type, { nullable, description: describeField(key, description) })(made.prototype as object, key);
  }
  const description = schema.meta()?.description ?? (way === 'input' ? 'What is sent.' : 'What is answered.');
  if (way === 'input') InputType(name, { description })(made);
  else ObjectType(name, { description })(made);
  return made;
}

const connections = new Map<string, Type>();

@ObjectType({ description: 'Where a page of a list stands.' })
export class PageInfo {
  @Field(() => Boolean, { description: describeField('hasNextPage', undefined) }) hasNextPage!: boolean;
  @Field(() => Boolean, { description: describeField('hasPreviousPage', undefined) }) hasPreviousPage!: boolean;
  @Field(() => String, { nullable: true, description: describeField('startCursor', undefined) }) startCursor!:
    string | null;
  @Field(() => String, { nullable: true, description: describeField('endCursor', undefined) }) endCursor!:
    string | null;
}

/** The Connection and Edge types of a listed shape. */
export function connectionOf(node: Type): Type {
  const name = node.name;
  let made = connections.get(name);
  if (made) return made;
  const edge = class {};
  Object.defineProperty(edge, 'name', { value: `${name}Edge` });
  Field(() => String, { description: 'Where it stands in the list.' })(edge.prototype as object, 'cursor');
  Field(() => node, { description: 'The record.' })(edge.prototype as object, 'node');
  ObjectType(`${name}Edge`, { description: 'A record and where it stands in its list.' })(edge);
  made = class {};
  Object.defineProperty(made, 'name', { value: `${name}Connection` });
  Field(() => [edge], { description: 'The records of the page.' })(made.prototype as object, 'edges');
  Field(() => PageInfo, { description: 'What comes before and after.' })(made.prototype as object, 'pageInfo');
  ObjectType(`${name}Connection`, { description: 'A page of a list.' })(made);
  connections.set(name, made);
  return made;
}
