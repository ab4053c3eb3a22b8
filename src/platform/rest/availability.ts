/** What a request is told while the service cannot do it: the database is away, the body does not come, it is closing. */
import type { NextFunction, Request, Response } from 'express';
import type { Database } from '../database/database.js';
import { Unavailable } from '../errors.js';
import { problemOf, problemType, sendProblem } from '../problems/problem.js';

/** Nobody waits for a database that is known not to answer. */
export const refuseWhileAway =
  (database: Database) =>
  (_request: Request, response: Response, next: NextFunction): void => {
    if (database.awaySince) sendProblem(response, problemOf(new Unavailable()));
    else next();
  };

/** @param milliseconds without a byte of the body, after which the request is given up */
export const cutSlowBodies =
  (milliseconds: number) =>
  (request: Request, response: Response, next: NextFunction): void => {
    if (!hasBody(request)) {
      next();
      return;
    }
    // Counts from the last byte either way; what is computed after the body has come may take longer.
    response.setTimeout(milliseconds, () => {
      if (request.complete || response.headersSent) return;
      response.setHeader('Connection', 'close');
      response.once('finish', () => request.socket.destroySoon());
      sendProblem(response, {
        type: problemType('too-slow-body'),
        title: 'The body did not come',
        status: 408,
        detail: `Nothing of the body came for ${milliseconds / 1000} seconds.`,
      });
    });
    next();
  };

const hasBody = ({ headers }: Request): boolean =>
  headers['transfer-encoding'] !== undefined || Number(headers['content-length'] ?? 0) > 0;

/** Knows what is under way, so that a service that is told to stop can bring it to an end. */
export class Closing {
  private readonly open = new Set<Response>();
  private closing = false;

  readonly watch = (_request: Request, response: Response, next: NextFunction): void => {
    if (this.closing) {
      this.refuse(response, 'Nothing was done.');
      return;
    }
    this.open.add(response);
    response.once('close', () => this.open.delete(response));
    next();
  };

  /**
   * What comes from now on is refused. What is under way may end by itself for so long; then it is told to come again.
   * @returns once nothing is under way any more
   */
  async begin(graceMilliseconds: number): Promise<void> {
    this.closing = true;
    // A stream has no end of its own: it is taken up again wherever its listener comes back.
    for (const response of this.open)
      if (String(response.getHeader('Content-Type')).startsWith('text/event-stream')) response.end();
    const until = Date.now() + graceMilliseconds;
    while (this.open.size > 0 && Date.now() < until) await new Promise((resolve) => setTimeout(resolve, 20));
    for (const response of this.open) {
      if (response.headersSent) response.destroy();
      else this.refuse(response, 'It may still be recorded: the same Idempotency-Key settles it.');
    }
  }

  private refuse(response: Response, done: string): void {
    response.setHeader('Connection', 'close');
    sendProblem(response, {
      type: problemType('closing'),
      title: 'The service is being stopped',
      status: 503,
      detail: `The service is being stopped or started anew; send it again in a few seconds. ${done}`,
    });
  }
}
