/** What an operator looks at: the log, the health of the service, its measures. */
import { randomUUID } from 'node:crypto';
import { Controller, Get, Inject, type LoggerService, Res } from '@nestjs/common';
import type { NextFunction, Request, Response } from 'express';
import { type Logger, pino } from 'pino';
import { collectDefaultMetrics, Histogram, Registry } from 'prom-client';
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
    log.error({ where, error: error instanceof Error ? (error.stack ?? error.message) : String(error) }, 'fault');

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

/** One log line and one measure a request. Neither holds a body, a query or a key. */
export function observeRequests(log: Logger) {
  return (request: Request, response: Response, next: NextFunction): void => {
    const started = process.hrtime.bigint();
    // As it came in: what answers later may look at a part of it only.
    const path = request.path;
    const sent = request.headers['x-request-id'];
    const requestId = typeof sent === 'string' && /^[\w-]{1,64}$/.test(sent) ? sent : randomUUID();
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

  /** The process can do its work: the database answers. */
  @Get('readyz')
  async ready(@Res() response: Response): Promise<void> {
    try {
      await this.appContext.database.pool.query('SELECT 1');
      response.json({ status: 'ready' });
    } catch (error) {
      this.appContext.reportFault(error, 'readyz');
      response.status(503).json({ status: 'the database does not answer' });
    }
  }

  @Get('metrics')
  async metrics(@Res() response: Response): Promise<void> {
    response.type(measures.contentType).send(await measures.metrics());
  }
}
