/** The service's process: from the settings to a shop that can be asked its six questions, and back down again. */
import fs from 'node:fs';
import path from 'node:path';
import type { NestExpressApplication } from '@nestjs/platform-express';
import type { Logger } from 'pino';
import { readBriefing } from './desk/briefing/briefing.queries.js';
import { briefingText } from './desk/briefing/briefing-text.js';
import { say } from './opening/command.js';
import { firstStart, wantedShop } from './opening/first-start.js';
import { ports } from './opening/ports.js';
import { settlePlans, startReplanning } from './plan/background/replanner.js';
import { openDatabase } from './platform/database/open.js';
import { openFiles } from './platform/files/open-files.js';
import { projectRoot } from './platform/launch/root.js';
import { faultsTo, makeLog } from './platform/observability/observability.js';
import { type AppContext, readInTransaction } from './platform/operation/execute.js';
import { Closing } from './platform/rest/availability.js';
import { loadSettings, type Settings, StartError } from './platform/settings.js';
import { askedThreads, backgroundThreads } from './platform/workers/pool.js';
import { makeServer } from './server.js';
import { listShops } from './shop/open-shop.js';

export const version = (
  JSON.parse(fs.readFileSync(path.join(projectRoot, 'package.json'), 'utf8')) as { version: string }
).version;

/** Requests a minute from one address. A page of one shop's owner needs a few; a script that loads history needs many. */
const REQUESTS_PER_MINUTE = 3000;
/** What is under way when the service is told to stop may end by itself for so long. */
const GRACE_MILLISECONDS = 5000;

async function main(): Promise<void> {
  const settings = loadSettings(process.env);
  const wanted = wantedShop(process.argv.slice(2));
  const log = makeLog(settings.logLevel);
  const { adminUrl: _owner, ...open } = await openDatabase(settings, say);
  // Nothing that serves requests needs the owner of the tables any more.
  delete process.env.DATABASE_URL;
  settings.databaseUrl = undefined;
  const threads = askedThreads();
  const background = backgroundThreads();
  const appContext: AppContext = {
    database: open.database,
    clock: () => new Date(),
    threads,
    files: openFiles(settings),
    publicUrl: settings.publicUrl,
    checkReplies: false,
    ports,
    openMetrics: settings.openMetrics,
    reportFault: faultsTo(log),
  };
  open.database.watch();
  const closing = new Closing();
  let app: NestExpressApplication | undefined;
  let stopPlanning: (() => Promise<void>) | undefined;
  let ending = false;
  const end = async (exitCode: number): Promise<void> => {
    if (ending) return;
    ending = true;
    // A second signal, or a close that hangs, must not keep the process.
    setTimeout(() => process.exit(exitCode || 1), 10_000).unref();
    await Promise.all([closing.begin(GRACE_MILLISECONDS).then(() => app?.close()), stopPlanning?.()]).catch(() => {});
    await Promise.all([threads.close(), background.close()]).catch(() => {});
    await open.close().catch(() => {});
    process.exit(exitCode);
  };
  process.on('SIGINT', () => void end(0));
  process.on('SIGTERM', () => void end(0));
  void open.lost.then((error) => {
    if (ending) return;
    console.error(error.message);
    void end(1);
  });
  try {
    // Before there is a shop, whose owner's key would be lost if nothing could be served.
    app = await serve(settings, appContext, log, closing);
    const first = await firstStart(open.database, wanted, new Date(), say);
    await settlePlans({ ...appContext, threads: background });
    await greet(app, appContext, settings, first.ownerKey);
    stopPlanning = startReplanning({ ...appContext, threads: background });
  } catch (error) {
    // What was under way when somebody stopped it has failed because of that.
    if (ending) return;
    console.error(error instanceof StartError ? error.message : error);
    await end(error instanceof StartError ? error.exitCode : 1);
  }
}

async function serve(
  settings: Settings,
  appContext: AppContext,
  log: Logger,
  closing: Closing,
): Promise<NestExpressApplication> {
  const app = await makeServer({
    appContext,
    log,
    version,
    requestsPerMinute: REQUESTS_PER_MINUTE,
    ...(settings.tls ? { tls: settings.tls } : {}),
    closing,
    corsOrigins: settings.corsOrigins,
  });
  if (settings.trustedProxies > 0) app.set('trust proxy', settings.trustedProxies);
  try {
    await app.listen(settings.port, settings.host);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EADDRINUSE')
      throw new StartError(
        `Port ${settings.port} on ${settings.host} is taken. Set PORT to another one (0 takes any free port), or stop what uses it.`,
      );
    if (code === 'EACCES')
      throw new StartError(
        `Port ${settings.port} on ${settings.host} may not be used by this user. Set PORT to one above 1023.`,
      );
    if (code === 'EADDRNOTAVAIL' || code === 'ENOTFOUND')
      throw new StartError(`HOST=${settings.host} is not an address of this machine.`, 2);
    throw error;
  }
  return app;
}

async function greet(
  app: NestExpressApplication,
  appContext: AppContext,
  settings: Settings,
  ownerKey: string | undefined,
): Promise<void> {
  const url = (await app.getUrl()).replace('[::1]', 'localhost');
  const briefings: string[] = [];
  for (const { id } of await listShops(appContext.database)) {
    briefings.push(
      briefingText(await readInTransaction(appContext, { shopId: id, role: 'owner', accessKeyId: null }, readBriefing)),
      '',
    );
  }
  const lines = [
    '',
    `Frostwright ${version} is serving`,
    `  Pages     ${settings.publicUrl ?? url}/`,
    `  REST      ${url}/v1`,
    `  GraphQL   ${url}/graphql`,
    `  Docs      ${url}/docs`,
    ownerKey
      ? `  Owner key ${ownerKey}\n            Shown this once; only its hash is kept. "npm run keys" makes others.`
      : '  Owner key was shown at the first start; "npm run keys" makes another.',
    ...unprotected(settings),
    '',
    ...briefings,
    'Ctrl-C stops the service and its database.',
  ];
  console.log(lines.join('\n'));
}

/** What others on the network could read, and how to close it. */
function unprotected({ host, tls, trustedProxies, publicUrl }: Settings): string[] {
  const local = ['127.0.0.1', '::1', 'localhost'].includes(host);
  if (local || tls || trustedProxies > 0 || publicUrl?.startsWith('https:')) return [];
  return [
    '  Not protected: whoever shares this network can read what is sent, sign-in cookies and keys among it, and act with',
    '  them. On a network that others use, set TLS_CERT_FILE and TLS_KEY_FILE, or put a proxy with TLS in front.',
  ];
}

main().catch((error: unknown) => {
  console.error(error instanceof StartError ? error.message : error);
  process.exit(error instanceof StartError ? error.exitCode : 1);
});
