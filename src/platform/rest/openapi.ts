/** The OpenAPI 3.1 document, made from the operations. */
import { z } from 'zod';
import { at, required } from '../../engine/look-up.js';
import { entriesOf, takesTable } from '../batch/batch.js';
import { describeField } from '../descriptions/describe-field.js';
import type { Area, FileRoute } from '../operation/area.js';
import type { Operation } from '../operation/operation.js';
import { problemType } from '../problems/problem.js';
import { nameOf, unwrapSchema } from '../shapes.js';
import { API_ROOT } from './controller.js';

type Json = Record<string, unknown>;

/** What goes wrong in the same way wherever it does, with the types it is told by. */
const problems: Record<number, { name: string; description: string; types: readonly string[] }> = {
  400: {
    name: 'BadRequest',
    description: 'The request could not be read',
    types: [
      'bad-body',
      'bad-query',
      'bad-address',
      'bad-cursor',
      'bad-if-match',
      'bad-idempotency-key',
      'idempotency-key-needed',
    ],
  },
  401: { name: 'NoKey', description: 'No valid key', types: ['key-needed'] },
  403: { name: 'NotAllowed', description: 'The key may not do that', types: ['not-allowed'] },
  404: { name: 'NotFound', description: 'No such record in this shop', types: ['not-found'] },
  408: { name: 'BodyTooSlow', description: 'The body did not come', types: ['too-slow-body'] },
  409: {
    name: 'Conflict',
    description: 'It conflicts with what is recorded, or the first request with the same key is under way',
    types: ['already-there', 'in-flight', 'busy'],
  },
  412: { name: 'Outdated', description: 'It has changed since it was read', types: ['outdated'] },
  413: { name: 'TooLarge', description: 'The body is too large', types: ['too-large'] },
  415: { name: 'UnknownMedia', description: 'That kind of body is not read here', types: ['unsupported-media'] },
  422: {
    name: 'NotAcceptable',
    description: 'The input is not acceptable, or a rule stands against it',
    types: ['invalid-input', 'idempotency-key-reused'],
  },
  428: { name: 'VersionNeeded', description: 'If-Match is missing', types: ['version-needed'] },
  429: {
    name: 'TooMany',
    description: 'Too many requests, or too much at once',
    types: ['too-many-requests', 'too-much-at-once'],
  },
  503: {
    name: 'Unavailable',
    description: 'Not at the moment; Retry-After says when',
    types: ['too-busy', 'database-away', 'outcome-unknown', 'closing', 'files-away'],
  },
  507: { name: 'NoRoom', description: 'The database has no room left to write', types: ['storage-full'] },
};

const problemResponses = (codes: readonly number[]): Json =>
  Object.fromEntries(
    codes.map((code) => [code, { $ref: `#/components/responses/${required(problems[code], `problem ${code}`).name}` }]),
  );

const header = (description: string, example: string): Json => ({ description, schema: { type: 'string' }, example });
const headers: Record<string, Json> = {
  RequestId: header(
    'The id of the request in the log; sent along, your own is kept.',
    '7d0e7a52-1f0b-4d3c-9f0e-0c6a8f1b2d3e',
  ),
  ETag: header('The version and a digest; goes back in If-Match, or in If-None-Match.', '"3.0f9a1c2b3d4e"'),
  Location: header('Where what was made can be read.', '/v1/places/0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11'),
  Link: header('The next, the previous and the first page (RFC 8288).', '</v1/places?after=…&first=50>; rel="next"'),
  Replayed: header('`true` where the first reply to this Idempotency-Key is given again.', 'true'),
  RetryAfter: header('Seconds after which to try again.', '3'),
};
const headerRef = (name: string): Json => ({ $ref: `#/components/headers/${name}` });

/** @returns a document for JSON; it holds nothing of any one shop */
export function openApiOf(areas: readonly Area[], version: string): Json {
  const components: Record<string, Json> = {
    Problem: {
      type: 'object',
      description: 'Problem details, RFC 9457. Programs go by `type`, people by `detail`.',
      properties: {
        type: { type: 'string', format: 'uri' },
        title: { type: 'string' },
        status: { type: 'integer' },
        detail: { type: 'string' },
        instance: { type: 'string' },
        errors: {
          type: 'array',
          items: {
            type: 'object',
            properties: { detail: { type: 'string' }, pointer: { type: 'string' } },
            required: ['detail', 'pointer'],
          },
        },
      },
      required: ['type', 'title', 'status'],
    },
    PageInfo: {
      type: 'object',
      properties: {
        hasNextPage: { type: 'boolean' },
        hasPreviousPage: { type: 'boolean' },
        startCursor: { type: ['string', 'null'] },
        endCursor: { type: ['string', 'null'] },
      },
      required: ['hasNextPage', 'hasPreviousPage', 'startCursor', 'endCursor'],
    },
  };
  const paths: Record<string, Json> = {};
  for (const area of areas) {
    for (const operation of area.operations) {
      const path = `/${API_ROOT}${operation.rest.path.replace(/:(\w+)/g, '{$1}')}`;
      (paths[path] ??= {})[operation.rest.method.toLowerCase()] = operationEntry(area.name, operation, components);
    }
    for (const file of area.files ?? []) {
      const path = `/${API_ROOT}${file.path.replace(/:(\w+)/g, '{$1}')}`;
      (paths[path] ??= {})[file.method.toLowerCase()] = fileEntry(area.name, file);
    }
  }
  return {
    openapi: '3.1.0',
    info: {
      title: 'Frostwright',
      version,
      license: { name: 'MIT', identifier: 'MIT' },
      contact: { name: 'Whoever runs this service' },
      description: 'Job cost, completion, price and season readiness for a small shop that restores seasonal machines.',
    },
    servers: [{ url: '/' }],
    security: [{ key: [] }],
    tags: areas.map(({ name, description }) => ({ name, description })),
    paths,
    components: {
      schemas: describedProperties(components),
      headers,
      responses: Object.fromEntries(
        Object.entries(problems).map(([status, { name, description, types }]) => [
          name,
          {
            description:
              `${description}. Types: ${types.map((one) => `\`${problemType(one)}\``).join(', ')}, ` +
              `or one of the operation's own.`,
            headers: {
              'X-Request-Id': headerRef('RequestId'),
              ...(status === '503' ? { 'Retry-After': headerRef('RetryAfter') } : {}),
            },
            content: {
              'application/problem+json': {
                schema: ref('Problem'),
                example: { type: problemType(at(types, 0)), title: description, status: Number(status) },
              },
            },
          },
        ]),
      ),
      securitySchemes: { key: { type: 'http', scheme: 'bearer' }, keyAsPassword: { type: 'http', scheme: 'basic' } },
    },
  };
}

function operationEntry(tag: string, operation: Operation, components: Record<string, Json>): Json {
  const inPath = [...operation.rest.path.matchAll(/:(\w+)/g)].map(([, name = '']) => name);
  const fields = operation.input.shape as Record<string, z.ZodType>;
  const fieldOf = (name: string) => required(fields[name], `field ${name}`);
  const hasBody = ['POST', 'PATCH', 'PUT'].includes(operation.rest.method);
  const elsewhere = operation.versioned ? ['version', ...inPath] : inPath;
  const parameters: Json[] = inPath.map((name) => ({
    name,
    in: 'path',
    required: true,
    ...describedParameter(name, fieldOf(name), components),
  }));
  if (operation.versioned)
    parameters.push({
      name: 'If-Match',
      in: 'header',
      required: true,
      schema: { type: 'string' },
      description: 'The ETag that reading gave.',
    });
  if (operation.kind === 'command')
    parameters.push({
      name: 'Idempotency-Key',
      in: 'header',
      required: operation.creates,
      schema: { type: 'string', minLength: 1, maxLength: 200 },
      description: 'Your own text; a repeat with the same text and body gives the first reply again.',
    });
  const rest = Object.keys(fields).filter((name) => !elsewhere.includes(name));
  if (!hasBody) {
    for (const name of rest) {
      const { optional, nullable, hasDefault } = unwrapSchema(fieldOf(name));
      parameters.push({
        name,
        in: 'query',
        required: !(optional || nullable || hasDefault),
        ...describedParameter(name, fieldOf(name), components),
      });
    }
  }
  const status = operation.rest.status ?? (operation.creates ? 201 : 200);
  const codes = [
    400,
    401,
    403,
    ...(inPath.length || hasBody ? [404] : []),
    ...(hasBody ? [408, 413, 415] : []),
    ...(operation.kind === 'command' ? [409] : []),
    ...(operation.versioned ? [412, 428] : []),
    422,
    429,
    503,
    ...(operation.kind === 'command' ? [507] : []),
  ];
  return {
    operationId: operation.name,
    tags: [tag],
    summary: operation.summary,
    description: `For keys of the role ${operation.roles.join(', ')}.`,
    ...(parameters.length ? { parameters } : {}),
    ...(hasBody
      ? {
          requestBody: {
            required: rest.some((name) => isRequired(fieldOf(name))),
            content: {
              'application/json': { schema: bodySchema(operation, rest, fields, components) },
              ...(entriesOf(operation) || takesTable(operation) ? { 'text/csv': { schema: table } } : {}),
            },
          },
        }
      : {}),
    responses: {
      [status]: {
        description: operation.paged ? 'A page of the list' : 'Done',
        headers: replyHeaders(operation, status),
        content: {
          'application/json': { schema: replySchema(operation, components) },
          ...(operation.paged ? { 'text/csv': { schema: table } } : {}),
        },
      },
      ...(!hasBody ? { 304: { description: 'It is still as the tag in If-None-Match says' } } : {}),
      ...problemResponses(codes),
    },
  };
}

const table: Json = {
  type: 'string',
  description: 'A table with a column for each field, the names in the first line.',
};

function replyHeaders(operation: Operation, status: number): Json {
  return {
    'X-Request-Id': headerRef('RequestId'),
    ...(operation.paged ? { Link: headerRef('Link') } : {}),
    ...(operation.paged || operation.versioned ? { ETag: headerRef('ETag') } : {}),
    ...(operation.kind === 'command' ? { 'Idempotency-Replayed': headerRef('Replayed') } : {}),
    ...(status === 201 ? { Location: headerRef('Location') } : {}),
  };
}

function fileEntry(tag: string, file: FileRoute): Json {
  const text = { type: 'string' };
  const parameters = [
    ...[...file.path.matchAll(/:(\w+)/g)].map(([, name = '']) => ({
      name,
      in: 'path',
      required: true,
      schema: { type: 'string', format: 'uuid' },
      description: describeField(name, undefined),
    })),
    ...(file.query ?? []).map((one) => ({ required: false, ...one, in: 'query', schema: text })),
  ];
  return {
    operationId: file.name,
    tags: [tag],
    summary: file.summary,
    description: 'Over REST only: it is a file.',
    ...(file.path.endsWith('.ics') ? { security: [{ key: [] }, { keyAsPassword: [] }] } : {}),
    ...(parameters.length ? { parameters } : {}),
    ...(file.takes
      ? {
          requestBody: {
            required: true,
            content: Object.fromEntries(file.takes.map((type) => [type, { schema: text }])),
          },
        }
      : {}),
    responses: {
      200: {
        description: 'Done',
        headers: { 'X-Request-Id': headerRef('RequestId') },
        content: { [file.gives]: { schema: file.gives === 'application/json' ? { type: 'object' } : text } },
      },
      ...problemResponses([400, 401, 403, 404, 422, 429, 503]),
    },
  };
}

const ref = (name: string): Json => ({ $ref: `#/components/schemas/${name}` });
const isRequired = (field: z.ZodType): boolean => {
  const { optional, hasDefault } = unwrapSchema(field);
  return !(optional || hasDefault);
};

function bodySchema(
  operation: Operation,
  names: string[],
  fields: Record<string, z.ZodType>,
  components: Record<string, Json>,
): Json {
  const picked = z.strictObject(
    Object.fromEntries(names.map((name) => [name, required(fields[name], `field ${name}`)])),
  );
  const id = `${operation.name.charAt(0).toUpperCase()}${operation.name.slice(1)}Input`;
  components[id] = jsonSchema(picked, 'input', components);
  return ref(id);
}

function replySchema(operation: Operation, components: Record<string, Json>): Json {
  const item = jsonSchema(operation.output, 'output', components);
  if (!operation.paged) return item;
  const name = `${nameOf(operation.output) ?? operation.name}Page`;
  components[name] = {
    type: 'object',
    description: 'A page of a list.',
    properties: {
      items: { type: 'array', items: item, description: 'The records, in the order that was asked for.' },
      pageInfo: ref('PageInfo'),
    },
    required: ['items', 'pageInfo'],
    additionalProperties: false,
  };
  return ref(name);
}

/** A description beside the schema, where a reader of the document looks for a parameter's. */
function describedParameter(name: string, field: z.ZodType, components: Record<string, Json>): Json {
  const schema = inputSchema(field, components);
  const { description, ...rest } = schema;
  return { description: describeField(name, description as string | undefined), schema: rest };
}

/** Each property of each schema with what it means; one that is another shape is described there. */
function describedProperties<T>(value: T): T {
  if (Array.isArray(value)) return value.map(describedProperties) as T;
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, one]) => {
      if (key === 'example' || key === 'default' || key === 'enum') return [key, one];
      if (key !== 'properties') return [key, describedProperties(one)];
      const properties = Object.entries(one as Record<string, Json>).map(([name, property]) => [
        name,
        {
          ...describedProperties(property),
          description: describeField(name, property.description as string | undefined, scalarIn(property)),
        },
      ]);
      return [key, Object.fromEntries(properties)];
    }),
  ) as T;
}

/** Money is known by its form: a string of digits with at most one point. */
function scalarIn(property: Json): 'Money' | 'Instant' | undefined {
  const one = (property.anyOf as Json[] | undefined)?.[0] ?? property;
  if (typeof one.pattern === 'string' && one.pattern.startsWith('^-?\\d{1,11}')) return 'Money';
  return one.format === 'date-time' ? 'Instant' : undefined;
}

const inputSchema = (field: z.ZodType, components: Record<string, Json>): Json =>
  jsonSchema(field, 'input', components);

/** A schema's JSON Schema; the named shapes in it move to the components. */
function jsonSchema(schema: z.ZodType, io: 'input' | 'output', components: Record<string, Json>): Json {
  const suffix = io === 'input' ? 'Input' : '';
  const made = z.toJSONSchema(schema, {
    target: 'draft-2020-12',
    io,
    unrepresentable: 'any',
    override: ({ jsonSchema: one }) => {
      delete (one as Json).scalar;
      delete (one as Json).priced;
    },
  }) as Json;
  delete made.$schema;
  const { $defs, ...root } = made as { $defs?: Record<string, Json> };
  // Inputs and outputs of one shape differ in what is required, so each way has a component of its own.
  const renamed = (name: string) => (io === 'input' && !name.endsWith('Input') ? `${name}${suffix}` : name);
  const relink = (value: unknown): unknown => {
    if (Array.isArray(value)) return value.map(relink);
    if (value === null || typeof value !== 'object') return value;
    return Object.fromEntries(
      Object.entries(value).map(([key, one]) =>
        key === '$ref' && typeof one === 'string'
          ? [key, one.replace(/^#\/\$defs\/(.*)$/, (_, name: string) => `#/components/schemas/${renamed(name)}`)]
          : [key, relink(one)],
      ),
    );
  };
  for (const [name, definition] of Object.entries($defs ?? {})) {
    delete definition.id;
    components[renamed(name)] = relink(definition) as Json;
  }
  const id = (root as Json).id as string | undefined;
  delete (root as Json).id;
  const linked = relink(root) as Json;
  if (!id) return linked;
  components[renamed(id)] = linked;
  return ref(renamed(id));
}
