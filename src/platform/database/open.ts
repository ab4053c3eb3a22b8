/** From the settings to a database that is ready for the service: reachable, migrated, with a role of its own. */
import pg from 'pg';
import { appliedMigrations, applyMigrations, knownMigrations } from '../../../prisma/migrate.js';
import { type Settings, StartError } from '../settings.js';
import { Database } from './database.js';
import { type EmbeddedServer, type Progress, startEmbedded } from './embedded/embedded.js';
import { ensureServiceRole, serviceUrl, verifyServiceRole } from './service-role.js';

export interface OpenDatabase {
  database: Database;
  /** As the owner of the tables; for backup and restore, never for requests. */
  adminUrl: string;
  /** Settles when the embedded server has ended without being asked to. */
  lost: Promise<Error>;
  /** Closes every connection and stops the embedded server, if this process started it. */
  close(): Promise<void>;
}

/** Oldest PostgreSQL whose rules for the public schema and for roles the service counts on. */
const oldestMajorVersion = 15;

/**
 * @param options.attach for commands: use the embedded server of a running service rather than refuse
 * @throws StartError saying what to do about it
 */
export async function openDatabase(
  settings: Settings,
  progress: Progress,
  options: { attach?: boolean } = {},
): Promise<OpenDatabase> {
  const server = await openServer(settings, progress, options);
  try {
    await prepareDatabase(server.url, settings.databaseRole, progress);
    const url = serviceUrl(server.url, settings.databaseRole);
    await verifyServiceRole(url);
    const database = new Database(url, settings.databaseConnections);
    const { lost } = server;
    // A database of one's own needs no stopping; what would stop it must not keep its owner's address either.
    const stop = settings.databaseUrl === undefined ? stopOf(server) : async () => {};
    const close = async () => {
      await database.close();
      await stop();
    };
    return { database, adminUrl: server.url, lost, close };
  } catch (error) {
    await server.stop();
    throw error;
  }
}

const stopOf = (server: EmbeddedServer) => () => server.stop();

/** The server alone, as it is: nothing is migrated. */
export async function openServer(
  settings: Settings,
  progress: Progress,
  options: { attach?: boolean } = {},
): Promise<EmbeddedServer> {
  if (settings.databaseUrl === undefined) return startEmbedded(settings.dataDir, progress, options);
  return { url: settings.databaseUrl, lost: new Promise(() => {}), stop: async () => {} };
}

/** Migrates and sets up the service's role in one transaction, one process at a time. */
export async function prepareDatabase(adminUrl: string, role: string, progress: Progress): Promise<void> {
  await asOwner(adminUrl, progress, async (connection) => {
    const applied = await appliedMigrations(connection);
    const known = knownMigrations();
    const foreign = applied.filter((name) => !known.includes(name));
    if (foreign.length > 0) {
      throw new StartError(
        `The database holds changes that this version of Frostwright does not know ` +
          `(${foreign.join(', ')}). Use the version that made them, or a newer one.`,
      );
    }
    if (applied.length === 0) await refuseForeignTables(connection);
    if (applied.length < known.length) {
      progress(`Preparing the database (${known.length - applied.length} migrations)`);
      await applyMigrations(connection);
    }
    await ensureServiceRole(connection, adminUrl, role);
  });
}

async function refuseForeignTables(connection: pg.Pool): Promise<void> {
  const { rows } = await connection.query<{ relname: string }>(
    `select relname from pg_class where relnamespace = 'public'::regnamespace and relkind ` +
      `in ('r', 'p', 'v', 'm') and relname <> '_prisma_migrations' limit 3`,
  );
  if (rows.length === 0) return;
  throw new StartError(
    `The database holds tables that are not Frostwright's (${rows.map((row) => row.relname).join(', ')}). Give it a database of its own.`,
  );
}

/**
 * Runs `work` in one transaction as the owner, while no other Frostwright process does so on this database.
 * @param work is given a pool of exactly one connection, on which the transaction is open
 */
export async function asOwner<T>(
  adminUrl: string,
  progress: Progress,
  work: (connection: pg.Pool) => Promise<T>,
): Promise<T> {
  const connection = new pg.Pool({
    connectionString: adminUrl,
    max: 1,
    idleTimeoutMillis: 0,
    connectionTimeoutMillis: 10_000,
    application_name: 'frostwright owner',
  });
  connection.on('error', () => {});
  try {
    await checkServer(connection, adminUrl);
    await connection.query('begin');
    await takeTurn(connection, progress);
    const result = await work(connection);
    await connection.query('commit');
    return result;
  } finally {
    // Closing a connection ends its transaction; what was not committed is undone.
    await connection.end();
  }
}

/** One statement or a few outside any transaction, such as making a database. */
export async function asAdministrator<T>(adminUrl: string, work: (client: pg.Client) => Promise<T>): Promise<T> {
  const client = new pg.Client({ connectionString: adminUrl, connectionTimeoutMillis: 10_000 });
  client.on('error', () => {});
  await client.connect();
  try {
    return await work(client);
  } finally {
    await client.end();
  }
}

async function takeTurn(connection: pg.Pool, progress: Progress): Promise<void> {
  const { rows } = await connection.query(`select pg_try_advisory_xact_lock(hashtext('frostwright owner')) as mine`);
  if (rows[0].mine) return;
  progress('Waiting for another process that is preparing the database');
  await connection.query(`select pg_advisory_xact_lock(hashtext('frostwright owner'))`);
}

async function checkServer(connection: pg.Pool, adminUrl: string): Promise<void> {
  const { host, pathname } = new URL(adminUrl);
  let version: number;
  try {
    const { rows } = await connection.query('show server_version_num');
    version = Number(rows[0].server_version_num);
  } catch (error) {
    const { code, message } = error as NodeJS.ErrnoException;
    const fault = message || code || String(error);
    const refused =
      code === '28P01' || code === '28000'
        ? 'The user or the password in DATABASE_URL is not accepted'
        : code === '3D000'
          ? `There is no database ${pathname.slice(1)}; create it first`
          : 'It cannot be reached';
    throw new StartError(
      `The database at ${host}${pathname}: ${refused} (${fault}). Check DATABASE_URL, or leave it out to use the embedded database.`,
    );
  }
  const major = Math.floor(version / 10_000);
  if (major < oldestMajorVersion) {
    throw new StartError(
      `The database at ${host} is PostgreSQL ${major}; Frostwright needs ${oldestMajorVersion} or newer.`,
    );
  }
}
