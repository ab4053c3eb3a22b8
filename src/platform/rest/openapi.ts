/** The OpenAPI 3.1 document, made from the operations. */
import { z } from 'zod';
import type { Area, FileRoute } from '../operation/area.js';
import type { Operation } from '../operation/operation.js';
import { unwrapSchema } from '../shapes.js';
import { API_ROOT } from './controller.js';

type Json = Record<string, unknown>;

const problemCodes: Record<number, string> = {
  400: 'The request could not be read',
  401: 'No valid key',
  403: 'The key may not do that',
  404: 'No such record in this shop',
  409: 'The records stand against it',
  412: 'It has changed since it was read',
  422: 'The input is not acceptable, or a rule stands against it',
  428: 'If-Match is missing',
  429: 'Too many requests',
};

/** @returns a document for JSON; it holds nothing of any one shop */
export function openApiOf(areas: readonly Area[], version: string): Json {
  const components: Record<string, Json> = {
    Problem: {
      type: 'object',
      description: 'Problem details, RFC 9457',
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
      description: 'Job cost, completion, price and season readiness for a small shop that restores seasonal machines.',
    },
    servers: [{ url: '/' }],
    security: [{ key: [] }],
    tags: areas.map((area) => ({ name: area.name })),
    paths,
    components: {
      schemas: components,
      securitySchemes: { key: { type: 'http', scheme: 'bearer' }, keyAsPassword: { type: 'http', scheme: 'basic' } },
    },
  };
}

function operationEntry(tag: string, operation: Operation, components: Record<string, Json>): Json {
  const inPath = [...operation.rest.path.matchAll(/:(\w+)/g)].map(([, name]) => name!);
  const fields = operation.input.shape as Record<string, z.ZodType>;
  const hasBody = ['POST', 'PATCH', 'PUT'].includes(operation.rest.method);
  const elsewhere = operation.versioned ? ['version', ...inPath] : inPath;
  const parameters: Json[] = inPath.map((name) => ({
    name,
    in: 'path',
    required: true,
    schema: inputSchema(fields[name]!, components),
  }));
  if (operation.versioned)
    parameters.push({
      name: 'If-Match',
      in: 'header',
      required: true,
      schema: { type: 'string' },
      description: 'The ETag that reading gave.',
    });
  if (operation.creates)
    parameters.push({
      name: 'Idempotency-Key',
      in: 'header',
      required: true,
      schema: { type: 'string', maxLength: 200 },
      description: 'Your own text; a repeat gives the first reply again.',
    });
  const rest = Object.keys(fields).filter((name) => !elsewhere.includes(name));
  if (!hasBody) {
    for (const name of rest) {
      const { optional, nullable, hasDefault } = unwrapSchema(fields[name]!);
      parameters.push({
        name,
        in: 'query',
        required: !(optional || nullable || hasDefault),
        schema: inputSchema(fields[name]!, components),
      });
    }
  }
  const status = operation.rest.status ?? (operation.creates ? 201 : 200);
  const problems = [
    400,
    401,
    403,
    ...(inPath.length || hasBody ? [404] : []),
    ...(operation.kind === 'command' ? [409] : []),
    ...(operation.versioned ? [412, 428] : []),
    422,
    429,
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
            required: rest.some((name) => isRequired(fields[name]!)),
            content: { 'application/json': { schema: bodySchema(operation, rest, fields, components) } },
          },
        }
      : {}),
    responses: {
      [status]: {
        description: 'Done',
        content: { 'application/json': { schema: replySchema(operation, components) } },
      },
      ...Object.fromEntries(
        problems.map((code) => [
          code,
          { description: problemCodes[code], content: { 'application/problem+json': { schema: ref('Problem') } } },
        ]),
      ),
    },
  };
}

function fileEntry(tag: string, file: FileRoute): Json {
  const text = { type: 'string' };
  const parameters = [
    ...[...file.path.matchAll(/:(\w+)/g)].map(([, name]) => ({
      name,
      in: 'path',
      required: true,
      schema: { type: 'string', format: 'uuid' },
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
        content: { [file.gives]: { schema: file.gives === 'application/json' ? { type: 'object' } : text } },
      },
      ...Object.fromEntries(
        [400, 401, 403, 404, 422, 429].map((code) => [
          code,
          { description: problemCodes[code], content: { 'application/problem+json': { schema: ref('Problem') } } },
        ]),
      ),
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
  const picked = z.strictObject(Object.fromEntries(names.map((name) => [name, fields[name]!])));
  const id = `${operation.name[0]!.toUpperCase()}${operation.name.slice(1)}Input`;
  components[id] = jsonSchema(picked, 'input', components);
  return ref(id);
}

function replySchema(operation: Operation, components: Record<string, Json>): Json {
  const item = jsonSchema(operation.output, 'output', components);
  if (!operation.paged) return item;
  return {
    type: 'object',
    properties: { items: { type: 'array', items: item }, pageInfo: ref('PageInfo') },
    required: ['items', 'pageInfo'],
  };
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
