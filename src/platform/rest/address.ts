/** The address of a request in one form, whatever form it came in. */
import type { IncomingMessage } from 'node:http';
import type { NextFunction, Request, Response } from 'express';
import { Unreadable } from '../errors.js';
import { problemOf, sendProblem } from '../problems/problem.js';

const unreadable = '*';

/**
 * A request may name the whole address (RFC 9112, 3.2.2), as it does by way of a proxy; what follows reads only its path
 * and query. To be done before the router sees the request, which trips over an address that it cannot read.
 */
export function toOriginForm(request: IncomingMessage): void {
  const { url = '/' } = request;
  if (url.startsWith('/')) return;
  const address = URL.canParse(url) ? new URL(url) : undefined;
  request.url = address && /^https?:$/.test(address.protocol) ? address.pathname + address.search : unreadable;
}

export function refuseUnreadable(request: Request, response: Response, next: NextFunction): void {
  if (request.url !== unreadable) {
    next();
    return;
  }
  const detail = 'The address is no path that begins with "/", nor a whole http address.';
  sendProblem(response, problemOf(new Unreadable('bad-address', detail)));
}
