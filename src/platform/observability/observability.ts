/** What an operator looks at: the log, the health of the service, its measures. */
import { randomUUID } from 'node:crypto';
import { Controller, Get, Inject, type LoggerService, Req, Res } from '@nestjs/common';
import type { NextFunction, Request, Response } from 'express';
import { type Logger, pino } from 'pino';
import { collectDefaultMetrics, Histogram, Registry } from 'prom-client';
import { callerOf } from '../access/authenticate.js';
import { isConnectionLost } from '../database/connection-lost.js';
import { Forbidden } from '../errors.js';
import { APP_CONTEXT } from '../operation/app-context.js';
import type { AppContext } from '../operation/execute.js';

/** Lines of JSON on standard error: standard output is left to what a person started the command for. */
export function makeLog(level: string): Logger {
  return pino(
    {
      level,
      base: undefined,
      redact: {
        paths: ['req.headers.authorization', 'authorization', 'key', 'password', '*.password'],
        censor: '[not logged]',
      },
    },
    pino.destination({ dest: 2, sync: true }),
  );
}

/** Faults of ours go into the log, with where they happened. */
export const faultsTo =
  (log: Logger) =>
  (error: unknown, where: string): void =>
    log.error(
      { where: withoutKeys(where), error: error instanceof Error ? (error.stack ?? error.message) : String(error) },
      'fault',
    );

/** Nest's own messages, in the same log. */
export function nestLog(log: Logger): LoggerService {
  const write =
    (level: 'debug' | 'info' | 'warn' | 'error') =>
    (message: unknown, ...rest: unknown[]) =>
      log[level](
        { context: rest.at(-1) },
        String(message instanceof Error ? (message.stack ?? message.message) : message),
      );
  // The application itself complains only when it cannot listen, which whoever started it is told in words.
  const error = (message: unknown, ...rest: unknown[]) =>
    write(rest.at(-1) === 'NestApplication' ? 'debug' : 'error')(message, ...rest);
  return {
    log: write('debug'),
    debug: write('debug'),
    verbose: write('debug'),
    warn: write('warn'),
    error,
    fatal: write('error'),
  };
}

export const measures = new Registry();
collectDefaultMetrics({ register: measures });
const durations = new Histogram({
  name: 'frostwright_request_seconds',
  help: 'Time to answer, by method, route and status',
  labelNames: ['method', 'route', 'status'],
  buckets: [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5],
  registers: [measures],
});

/** A key that somebody wrote into an address must not come into the log by it. */
export function withoutKeys(address: string): string {
  let plain = address;
  try {
    plain = decodeURIComponent(address);
  } catch {
    // As it is, then.
  }
  return /fw_[0-9a-f]{12}_/i.test(plain) ? '[holds a key, not logged]' : address;
}

/** One log line and one measure a request. Neither holds a body, a query or a key. */
export function observeRequests(log: Logger) {
  return (request: Request, response: Response, next: NextFunction): void => {
    const started = process.hrtime.bigint();
    // As it came in: what answers later may look at a part of it only.
    const path = withoutKeys(request.path);
    const sent = request.headers['x-request-id'];
    const requestId = typeof sent === 'string' && /^(?!fw_)[\w-]{1,64}$/.test(sent) ? sent : randomUUID();
    response.setHeader('X-Request-Id', requestId);
    response.on('finish', () => {
      const seconds = Number(process.hrtime.bigint() - started) / 1e9;
      const route =
        (request.route as { path?: string } | undefined)?.path ?? (path === '/graphql' ? '/graphql' : 'other');
      durations.observe({ method: request.method, route, status: String(response.statusCode) }, seconds);
      log.info(
        {
          requestId,
          method: request.method,
          path,
          status: response.statusCode,
          milliseconds: Math.round(seconds * 1000),
        },
        'request',
      );
    });
    next();
  };
}

@Controller()
export class HealthController {
  constructor(@Inject(APP_CONTEXT) private readonly appContext: AppContext) {}

  /** The process is up. */
  @Get('healthz')
  health(): { status: string } {
    return { status: 'up' };
  }

  /** The process can do its work: the database answers, and there is a shop to serve. */
  @Get('readyz')
  async ready(@Res() response: Response): Promise<void> {
    const { database } = this.appContext;
    const not = (status: string) => response.status(503).setHeader('Retry-After', '3').json({ status });
    if (database.awaySince) {
      not('the database does not answer');
      return;
    }
    try {
      const { rows } = await inTime(database.pool.query('SELECT 1 FROM list_shops() LIMIT 1'), 1500);
      if (rows.length === 0) not('there is no shop yet');
      else if (database.storageFull)
        response.json({ status: 'degraded', reason: 'the database has no room left to write' });
      else response.json({ status: 'ready' });
    } catch (error) {
      if (!isConnectionLost(error)) this.appContext.reportFault(error, 'readyz');
      not('the database does not answer');
    }
  }

  /** For whoever holds an owner's key, or for everybody where it is set so. */
  @Get('metrics')
  async metrics(@Req() request: Request, @Res() response: Response): Promise<void> {
    if (!this.appContext.openMetrics && callerOf(request).role !== 'owner')
      throw new Forbidden('The measures of the service are for owner keys.');
    response.type(measures.contentType).send(await measures.metrics());
  }
}

function inTime<T>(work: Promise<T>, milliseconds: number): Promise<T> {
  let timer: NodeJS.Timeout;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => reject(new Error('connection terminated: no answer in time')), milliseconds);
  });
  return Promise.race([work, late]).finally(() => clearTimeout(timer));
}
