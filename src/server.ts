/** The HTTP server as a whole, apart from the process it runs in: main and the tests start the same one. */
import type { IncomingMessage, Server } from 'node:http';
import { NestFactory } from '@nestjs/core';
import type { NestExpressApplication } from '@nestjs/platform-express';
import type { Request, Response } from 'express';
import { rateLimit } from 'express-rate-limit';
import helmet from 'helmet';
import type { Logger } from 'pino';
import { AppModule } from './app.module.js';
import { authentication } from './platform/access/authenticate.js';
import { TooMany } from './platform/errors.js';
import { measures, nestLog, observeRequests } from './platform/observability/observability.js';
import { measureDatabase } from './platform/observability/service-measures.js';
import type { AppContext } from './platform/operation/execute.js';
import { ProblemFilter, problemOf, sendProblem } from './platform/problems/problem.js';
import { refuseUnreadable, toOriginForm } from './platform/rest/address.js';
import { Closing, cutSlowBodies, refuseWhileAway } from './platform/rest/availability.js';
import { packed } from './platform/rest/packing.js';

export interface ServerOptions {
  appContext: AppContext;
  log: Logger;
  version: string;
  /** Requests a minute from one address; beyond it 429. */
  requestsPerMinute: number;
  /** Served under TLS with these, in PEM. */
  tls?: { cert: Buffer; key: Buffer };
  /** How long a body may stand still, in milliseconds. */
  bodyPatience?: number;
  /** Lets whoever stops the server bring what is under way to an end. */
  closing?: Closing;
  /** Origins whose pages may use the APIs from a browser. */
  corsOrigins?: readonly string[];
}

const BODY_LIMIT = '1mb';
const BODY_PATIENCE = 30_000;

/** What a page of another origin may read of a reply. */
const EXPOSED = ['ETag', 'Idempotency-Replayed', 'Link', 'Location', 'Retry-After', 'X-Request-Id'];

/** @returns a Nest application that is made but does not listen yet */
export async function makeServer(options: ServerOptions): Promise<NestExpressApplication> {
  const { appContext, log } = options;
  const app = await NestFactory.create<NestExpressApplication>(AppModule.with(appContext, options.version), {
    logger: nestLog(log),
    bodyParser: false,
    abortOnError: false,
    ...(options.tls ? { httpsOptions: options.tls } : {}),
  });
  app.disable('x-powered-by');
  (app.getHttpServer() as Server).prependListener('request', toOriginForm);
  app.use(observeRequests(log));
  app.use(refuseUnreadable);
  app.use(
    helmet({
      contentSecurityPolicy: {
        directives: { scriptSrc: ["'self'", "'unsafe-inline'"], upgradeInsecureRequests: null },
      },
      strictTransportSecurity: false,
    }),
  );
  app.use(
    rateLimit({
      windowMs: 60_000,
      limit: options.requestsPerMinute,
      standardHeaders: 'draft-8',
      legacyHeaders: false,
      // Each replica counts for itself: the limit guards a process, it is no part of the records.
      skip: (request: Request) => ['/healthz', '/readyz'].includes(request.path),
      handler: (_request: Request, response: Response) =>
        sendProblem(response, problemOf(new TooMany('too-many-requests', 'Wait a minute, then go on more slowly.'))),
    }),
  );
  app.use(packed());
  if (options.corsOrigins?.length)
    app.enableCors({ origin: [...options.corsOrigins], exposedHeaders: EXPOSED, maxAge: 600 });
  measureDatabase(measures, appContext.database);
  const closing = options.closing ?? new Closing();
  app.use(
    ['/v1', '/graphql'],
    closing.watch,
    refuseWhileAway(appContext.database),
    cutSlowBodies(options.bodyPatience ?? BODY_PATIENCE),
  );
  if (!appContext.openMetrics) app.use('/metrics', authentication(appContext.database));
  app.use(['/v1', '/graphql'], authentication(appContext.database));
  // After the key check: nobody without a key gets a body read.
  app.useBodyParser('json', {
    limit: BODY_LIMIT,
    strict: true,
    type: ['application/json', 'application/merge-patch+json', 'application/graphql-response+json'],
  });
  // A station's file is read as it comes, whatever its size.
  app.useBodyParser('text', {
    limit: BODY_LIMIT,
    type: (request: IncomingMessage) =>
      /^text\/csv\b/i.test(request.headers['content-type'] ?? '') && !/\/days\/import(\?|$)/.test(request.url ?? ''),
  });
  app.useGlobalFilters(new ProblemFilter(appContext.reportFault));
  return app;
}
