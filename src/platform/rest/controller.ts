/** Makes an area's REST controller out of its operations. */
import { createHash } from 'node:crypto';
import { Controller, Delete, Get, HttpException, Inject, Patch, Post, Put, Req, Res, type Type } from '@nestjs/common';
import type { Request, Response } from 'express';
import type { z } from 'zod';
import { callerOf } from '../access/authenticate.js';
import { entriesOf, takesTable } from '../batch/batch.js';
import { Outdated, Unreadable, VersionNeeded } from '../errors.js';
import { APP_CONTEXT } from '../operation/app-context.js';
import {
  type AppContext,
  type Caller,
  canonical,
  executeOperation,
  type OperationResult,
} from '../operation/execute.js';
import type { Operation } from '../operation/operation.js';
import { csvOf, entriesFromCsv } from './csv.js';
import { readQuery } from './query-string.js';

const verbs = { GET: Get, POST: Post, PATCH: Patch, PUT: Put, DELETE: Delete } as const;

export const API_ROOT = 'v1';

/**
 * @param area the area's name, for the class
 * @param operations one route each
 * @returns a Nest controller class
 */
export function controllerOf(area: string, operations: readonly Operation[]): Type {
  class AreaController {
    constructor(readonly appContext: AppContext) {}
  }
  Object.defineProperty(AreaController, 'name', { value: `${area}Controller` });
  Inject(APP_CONTEXT)(AreaController, undefined, 0);
  for (const operation of operations) {
    const handler = async function (this: AreaController, request: Request, response: Response): Promise<void> {
      await answer(this.appContext, operation, operations, request, response);
    };
    const descriptor: PropertyDescriptor = { value: handler, writable: true, configurable: true };
    Object.defineProperty(AreaController.prototype, operation.name, descriptor);
    Req()(AreaController.prototype, operation.name, 0);
    Res()(AreaController.prototype, operation.name, 1);
    verbs[operation.rest.method](operation.rest.path)(AreaController.prototype, operation.name, descriptor);
  }
  Controller(API_ROOT)(AreaController);
  return AreaController;
}

async function answer(
  appContext: AppContext,
  operation: Operation,
  siblings: readonly Operation[],
  request: Request,
  response: Response,
): Promise<void> {
  const caller = callerOf(request);
  const input = inputOf(operation, request);
  const performed = operation.versioned
    ? await performVersioned(appContext, operation, caller, input, request)
    : await executeOperation(appContext, operation, caller, input, idempotencyKeyOf(operation, request));
  const status = operation.rest.status ?? (operation.creates ? 201 : 200);
  response.setHeader('Vary', 'Authorization');
  // A shop's own, to be asked after each time; what was done is nothing to keep.
  response.setHeader('Cache-Control', request.method === 'GET' ? 'private, no-cache' : 'no-store');
  if (performed.replayed) response.setHeader('Idempotency-Replayed', 'true');
  if (operation.paged) {
    sendPage(operation, performed.reply as PageReply, request, response);
    return;
  }
  const body = performed.reply as Record<string, unknown>;
  const tag = entityTag(body);
  if (tag) response.setHeader('ETag', tag);
  if (
    status === 201 &&
    typeof body?.id === 'string' &&
    siblings.some((one) => one.kind === 'query' && one.rest.path === `${operation.rest.path}/:id`)
  ) {
    response.setHeader('Location', `/${API_ROOT}${operation.rest.path}/${body.id}`);
  }
  if (tag && request.method === 'GET' && matchesAny(request.headers['if-none-match'], tag)) {
    response.status(304).end();
    return;
  }
  response.status(status).json(body);
}

/** The path's, the query's and the body's fields as one input. */
function inputOf(operation: Operation, request: Request): Record<string, unknown> {
  const inPath = request.params as Record<string, string>;
  const hasBody = ['POST', 'PATCH', 'PUT'].includes(operation.rest.method);
  const entry = request.is('text/csv') ? entriesOf(operation) : undefined;
  const table = request.is('text/csv') && takesTable(operation);
  if (request.is('text/csv') && !entry && !table) throw new HttpException('unsupported', 415);
  const sent: unknown = table
    ? { csv: String(request.body ?? '') }
    : entry
      ? { items: entriesFromCsv(String(request.body ?? ''), entry) }
      : hasBody
        ? (request.body ?? {})
        : readQuery(operation.input, request.query as Record<string, unknown>);
  if (sent === null || typeof sent !== 'object' || Array.isArray(sent))
    throw new Unreadable('bad-body', 'The body must be a JSON object.');
  const fields = sent as Record<string, unknown>;
  for (const key of Object.keys(inPath)) {
    if (key in fields && fields[key] !== inPath[key])
      throw new Unreadable('bad-body', `"${key}" stands in the path; do not send another one.`);
  }
  if (operation.versioned && hasBody && 'version' in fields)
    throw new Unreadable('bad-body', 'Send the version in the header If-Match, not in the body.');
  return { ...fields, ...inPath };
}

async function performVersioned(
  appContext: AppContext,
  operation: Operation,
  caller: Caller,
  input: Record<string, unknown>,
  request: Request,
): Promise<OperationResult> {
  const versions = versionsOf(request.headers['if-match']);
  let outdated: Outdated | undefined;
  for (const version of versions) {
    try {
      return await executeOperation(
        appContext,
        operation,
        caller,
        { ...input, version },
        idempotencyKeyOf(operation, request),
      );
    } catch (error) {
      if (!(error instanceof Outdated)) throw error;
      outdated = error;
    }
  }
  throw outdated ?? new VersionNeeded();
}

/**
 * An entity tag is `"<version>.<digest of the reply>"`. If-Match looks at the version only, since derived
 * members (a state, a date) may move without anybody having changed the record; If-None-Match looks at all of it.
 */
function entityTag(body: Record<string, unknown> | null): string | undefined {
  if (typeof body?.version !== 'number') return undefined;
  const digest = createHash('sha256').update(canonical(body)).digest('hex').slice(0, 12);
  return `"${body.version}.${digest}"`;
}

function versionsOf(header: string | undefined): number[] {
  if (header === undefined || header.trim() === '') throw new VersionNeeded();
  if (header.trim() === '*')
    throw new Unreadable(
      'bad-if-match',
      'If-Match must name the version you read; "*" would overwrite what you have not seen.',
    );
  const versions: number[] = [];
  for (const [, weak, opaque] of header.matchAll(/(W\/)?"([^"]*)"/g)) {
    // A weak tag never matches in If-Match (RFC 9110, 8.8.3.2): it counts as a version that cannot be current.
    const version = weak ? 0 : Number(/^(\d{1,9})(\.[0-9a-f]{12})?$/.exec(opaque ?? '')?.[1] ?? 0);
    versions.push(version > 0 ? version : 2_000_000_000);
  }
  if (versions.length === 0)
    throw new Unreadable('bad-if-match', 'If-Match must hold quoted entity tags, such as "3".');
  return versions.slice(0, 10);
}

function matchesAny(header: string | undefined, tag: string): boolean {
  if (!header) return false;
  return header.trim() === '*' || [...header.matchAll(/(?:W\/)?("[^"]*")/g)].some(([, one]) => one === tag);
}

function idempotencyKeyOf(operation: Operation, request: Request): string | undefined {
  const header = request.headers['idempotency-key'];
  // What creates must carry one; any other command may, so that a repeat is given the first reply.
  if (operation.kind === 'query' || (!operation.creates && header === undefined)) return undefined;
  // Node joins two headers of one name; which of them is meant, nobody can tell.
  if (request.rawHeaders.filter((one, at) => at % 2 === 0 && one.toLowerCase() === 'idempotency-key').length > 1)
    throw new Unreadable('bad-idempotency-key', 'Send the header Idempotency-Key only once.');
  if (typeof header !== 'string' || header.trim() === '') {
    throw new Unreadable(
      'idempotency-key-needed',
      'Send the header Idempotency-Key with a text of your own choosing, new for each new request, so that a repeat is not recorded twice.',
    );
  }
  const plain = /^"(.*)"$/.exec(header.trim())?.[1] ?? header.trim();
  return plain;
}

interface PageReply {
  items: unknown[];
  cursors: string[];
  hasNextPage: boolean;
  hasPreviousPage: boolean;
}

function sendPage(operation: Operation, page: PageReply, request: Request, response: Response): void {
  const startCursor = page.cursors[0] ?? null;
  const endCursor = page.cursors[page.cursors.length - 1] ?? null;
  const links: string[] = [];
  const link = (rel: string, drop: string[], set: Record<string, string>) => {
    const url = new URL(`http://self${request.originalUrl}`);
    for (const key of drop) url.searchParams.delete(key);
    for (const [key, value] of Object.entries(set)) url.searchParams.set(key, value);
    links.push(`<${url.pathname}${url.search}>; rel="${rel}"`);
  };
  const size = String(page.items.length || 1);
  if (page.hasNextPage && endCursor)
    link('next', ['before', 'last', 'after'], { after: endCursor, first: String(request.query.first ?? size) });
  if (page.hasPreviousPage && startCursor)
    link('prev', ['after', 'first', 'before'], {
      before: startCursor,
      last: String(request.query.first ?? request.query.last ?? size),
    });
  link('first', ['after', 'before', 'last'], {});
  response.setHeader('Link', links.join(', '));
  response.vary('Accept');
  if (request.accepts(['application/json', 'text/csv']) === 'text/csv') {
    response.type('text/csv; charset=utf-8; header=present');
    response.send(csvOf(operation.output as z.ZodObject, page.items as Record<string, unknown>[]));
    return;
  }
  const body = {
    items: page.items,
    pageInfo: { hasNextPage: page.hasNextPage, hasPreviousPage: page.hasPreviousPage, startCursor, endCursor },
  };
  // A page is no record and takes no If-Match: its tag only says whether it is still the same.
  const tag = `W/"${createHash('sha256').update(JSON.stringify(body)).digest('hex').slice(0, 16)}"`;
  response.setHeader('ETag', tag);
  if (matchesAny(request.headers['if-none-match'], tag.slice(2))) {
    response.status(304).end();
    return;
  }
  response.status(200).json(body);
}
