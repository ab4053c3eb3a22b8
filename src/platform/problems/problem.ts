/** Errors as RFC 9457 problem details. */
import { type ArgumentsHost, Catch, type ExceptionFilter, HttpException } from '@nestjs/common';
import type { Request, Response } from 'express';
import { DomainError } from '../errors.js';

/**
 * Calendar programs know passwords only, so there a key may be sent as one. A browser sends a password it has been given by
 * itself, at any page's wish: therefore nowhere else, and only to read.
 */
export const takesPassword = (request: Request): boolean => request.method === 'GET' && request.path.endsWith('.ics');

/** Types are URNs of our own: stable, and with nothing behind them that could vanish. */
export const problemType = (code: string): string => `urn:frostwright:problem:${code}`;

export interface Problem {
  type: string;
  title: string;
  status: number;
  detail?: string;
  instance?: string;
  [extra: string]: unknown;
}

export function problemOf(error: unknown): Problem {
  if (error instanceof DomainError) {
    return {
      type: problemType(error.code),
      title: error.title,
      status: error.status,
      detail: error.message,
      ...error.extra,
    };
  }
  const status = statusOf(error);
  // Nest wraps what the router threw, and keeps only its words.
  if (status === 400 && /decode param/i.test((error as Error).message))
    return {
      type: problemType('bad-address'),
      title: 'The request could not be read',
      status,
      detail: 'The address holds a "%" that stands for no character.',
    };
  if (status === 400)
    return {
      type: problemType('bad-body'),
      title: 'The request could not be read',
      status,
      detail: 'The body is not well-formed JSON.',
    };
  if (status === 404)
    return {
      type: problemType('no-such-address'),
      title: 'There is no such address',
      status,
      detail: 'See /docs for the addresses there are.',
    };
  if (status === 413)
    return {
      type: problemType('too-large'),
      title: 'The request is too large',
      status,
      detail: 'A body may have at most 1 MiB.',
    };
  if (status === 415)
    return {
      type: problemType('unsupported-media'),
      title: 'That kind of body is not read here',
      status,
      detail: 'Send JSON: Content-Type: application/json.',
    };
  if (status !== undefined && status >= 400 && status < 500)
    return { type: problemType('bad-request'), title: 'The request could not be read', status };
  return {
    type: problemType('fault'),
    title: 'Something went wrong here',
    status: 500,
    detail: 'It has been written to the log; nothing was changed.',
  };
}

function statusOf(error: unknown): number | undefined {
  if (error instanceof HttpException) return error.getStatus();
  const { status, expose } = error as { status?: unknown; expose?: unknown };
  // Body parsers throw errors that carry a status and say that they may be shown.
  return typeof status === 'number' && (expose === true || status < 500) ? status : undefined;
}

export function sendProblem(response: Response, problem: Problem): void {
  if (problem.status === 401)
    response.setHeader('WWW-Authenticate', `${takesPassword(response.req) ? 'Basic' : 'Bearer'} realm="frostwright"`);
  if (problem.status === 503) response.setHeader('Retry-After', '3');
  if (problem.status === 428) response.setHeader('Cache-Control', 'no-store');
  response.status(problem.status).type('application/problem+json').send(JSON.stringify(problem));
}

@Catch()
export class ProblemFilter implements ExceptionFilter {
  constructor(private readonly reportFault: (error: unknown, where: string) => void) {}

  catch(error: unknown, host: ArgumentsHost): void {
    // GraphQL has its own mapping; a filter must hand its errors on.
    if (host.getType<string>() === 'graphql') throw error;
    const request = host.switchToHttp().getRequest<Request>();
    const response = host.switchToHttp().getResponse<Response>();
    // It has been answered already: what was under way when the service was stopped, or a body that did not come.
    if (response.writableEnded) return;
    const problem = problemOf(error);
    if (problem.status === 500) this.reportFault(error, `${request.method} ${request.path}`);
    if (response.headersSent) {
      response.end();
      return;
    }
    sendProblem(response, { ...problem, instance: request.originalUrl.split('?')[0] });
  }
}
