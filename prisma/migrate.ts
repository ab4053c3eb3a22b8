/**
 * Applies `migrations/` with Prisma's schema engine in its WebAssembly form, which needs no binary to be
 * fetched. The record of what was applied, `_prisma_migrations`, is the one the stock tool keeps.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { PrismaPg } from '@prisma/adapter-pg';
import {
  bindMigrationAwareSqlAdapterFactory,
  ColumnTypeEnum,
  type SqlDriverAdapter,
  type SqlMigrationAwareDriverAdapterFactory,
  type SqlResultSet,
} from '@prisma/driver-adapter-utils';
import type { MigrationList, SchemaEngine, SchemasContainer } from '@prisma/schema-engine-wasm';
import pg from 'pg';
import { at } from '../src/engine/look-up.js';
import { projectRoot } from '../src/platform/launch/root.js';

export const migrationsFolder = path.join(projectRoot, 'prisma/migrations');
export const schemaFile = path.join(projectRoot, 'prisma/schema.prisma');

/** Names of the migrations this program carries, in their order. */
export function knownMigrations(): string[] {
  return readdirSync(migrationsFolder, { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map((entry) => entry.name)
    .sort();
}

/** Names of the migrations a database has, in their order; none for a new one. */
export async function appliedMigrations(connection: pg.Pool | pg.ClientBase): Promise<string[]> {
  const { rows: found } = await connection.query(
    `select to_regclass('public."_prisma_migrations"') is not null as there`,
  );
  if (!found[0].there) return [];
  const { rows } = await connection.query(
    `select migration_name from public."_prisma_migrations" where finished_at is ` +
      `not null and rolled_back_at is null order by migration_name`,
  );
  return rows.map((row) => row.migration_name as string);
}

/**
 * Applies what is missing, inside the transaction that is open on the pool's only connection: all or nothing.
 * @param upTo the last migration to apply; every known one if absent
 * @returns the names just applied
 */
export async function applyMigrations(connection: pg.Pool, upTo?: string): Promise<string[]> {
  let failure: Error | undefined;
  try {
    return await withEngine(
      adapters(connection, (error) => (failure = error)),
      async (engine) => {
        const { appliedMigrationNames } = await engine.applyMigrations({
          migrationsList: listMigrations(upTo),
          filters,
        });
        return appliedMigrationNames;
      },
    );
  } catch (error) {
    // The engine keeps to itself what the server said; it knows which migration it was.
    if (!failure) throw error;
    const name = /migration_name="([^"]+)"/.exec(String(error))?.[1] ?? '';
    throw new Error(`The migration ${name} failed: ${failure.message}`, { cause: failure });
  }
}

/**
 * The SQL that leads from the schema a database has to the one in `schema.prisma`; an empty text when they agree.
 * Checks, triggers and policies, which Prisma does not know, are left alone.
 */
export async function differenceToSchema(connection: pg.Pool): Promise<string> {
  return withEngine(adapters(connection), async (engine) => {
    const schema = readSchema();
    const { stdout } = await engine.diff({
      from: { tag: 'schemaDatasource', ...schema, configDir: path.dirname(schemaFile) },
      to: { tag: 'schemaDatamodel', ...schema },
      script: true,
      exitCode: null,
      filters,
    });
    const script = stdout?.trim() ?? '';
    return script.includes('empty migration') ? '' : script;
  });
}

/** Node has it; the type library for servers does not name it. */
declare const WebAssembly: {
  instantiate(
    code: Uint8Array,
    imports: Record<string, unknown>,
  ): Promise<{ instance: { exports: Record<string, unknown> } }>;
};

const filters = { externalTables: [], externalEnums: [] };

function readSchema(): SchemasContainer {
  return { files: [{ path: schemaFile, content: readFileSync(schemaFile, 'utf8') }] };
}

function listMigrations(upTo?: string): MigrationList {
  const names = knownMigrations().filter((name) => upTo === undefined || name <= upTo);
  return {
    baseDir: migrationsFolder,
    lockfile: {
      path: 'migration_lock.toml',
      content: readFileSync(path.join(migrationsFolder, 'migration_lock.toml'), 'utf8'),
    },
    shadowDbInitScript: '',
    migrationDirectories: names.map((name) => ({
      path: name,
      migrationFile: {
        path: 'migration.sql',
        content: { tag: 'ok', value: readFileSync(path.join(migrationsFolder, name, 'migration.sql'), 'utf8') },
      },
    })),
  };
}

async function withEngine<T>(
  factory: SqlMigrationAwareDriverAdapterFactory,
  work: (engine: SchemaEngine) => Promise<T>,
): Promise<T> {
  // Loaded once: the bindings keep one instance in a variable of their own.
  loadedEngine ??= loadEngine();
  const { SchemaEngine } = await loadedEngine;
  const bound = bindMigrationAwareSqlAdapterFactory(factory);
  const engine = await SchemaEngine.new(
    { datamodels: readSchema().files.map((file) => [file.path, file.content]) },
    () => {},
    bound,
  );
  try {
    return await work(engine);
  } catch (error) {
    throw readable(error);
  } finally {
    engine.free();
  }
}

let loadedEngine: ReturnType<typeof loadEngine> | undefined;

/** The package's own entry imports the .wasm file as a module, which Node does not do unasked. */
async function loadEngine() {
  const bindings = await import('@prisma/schema-engine-wasm/schema_engine_bg');
  const code = path.join(
    path.dirname(createRequire(import.meta.url).resolve('@prisma/schema-engine-wasm/schema_engine_bg')),
    'schema_engine_bg.wasm',
  );
  // A timer that it forgets to clear would keep a finished command from ending for ten seconds.
  const imports = Object.entries(bindings).map(([name, value]) => [
    name,
    name.startsWith('__wbg_setTimeout')
      ? (...args: unknown[]) => (value as (...args: unknown[]) => NodeJS.Timeout)(...args).unref()
      : value,
  ]);
  const { instance } = await WebAssembly.instantiate(readFileSync(code), {
    './schema_engine_bg.js': Object.fromEntries(imports),
  });
  bindings.__wbg_set_wasm(instance.exports);
  (instance.exports.__wbindgen_start as () => void)();
  return bindings;
}

/** Prisma's adapter, changed in three ways that migrations need. */
function adapters(
  connection: pg.Pool,
  onFailedScript: (error: Error) => void = () => {},
): SqlMigrationAwareDriverAdapterFactory {
  const catalogue = new CatalogueReader(connection);
  const inner = new PrismaPg(catalogue.pool);
  const connect = async (): Promise<SqlDriverAdapter> => {
    const adapter = await inner.connect();
    // A refused statement would spoil the whole transaction; the engine asks for tables that may not be there.
    async function guarded<T>(run: () => Promise<T>): Promise<T> {
      await connection.query('savepoint migration');
      try {
        return await run();
      } catch (error) {
        await connection.query('rollback to savepoint migration');
        throw error;
      } finally {
        await connection.query('release savepoint migration');
      }
    }
    return {
      provider: adapter.provider,
      adapterName: adapter.adapterName as SqlDriverAdapter['adapterName'],
      queryRaw: (query) => guarded(async () => catalogue.retype(await adapter.queryRaw(query))),
      executeRaw: (query) => guarded(() => adapter.executeRaw(query)),
      // The adapter cuts a script at every semicolon, also inside a function's body; the server knows better.
      executeScript: async (script) => {
        await connection.query(script).catch((error: Error) => {
          onFailedScript(error);
          throw error;
        });
      },
      startTransaction: () => Promise.reject(new Error('Migrations run inside the transaction they are given.')),
      getConnectionInfo: () => adapter.getConnectionInfo(),
      dispose: () => adapter.dispose(),
    };
  };
  return {
    provider: inner.provider,
    adapterName: inner.adapterName as SqlDriverAdapter['adapterName'],
    connect,
    connectToShadowDb: () => Promise.reject(new Error('No shadow database is used.')),
  };
}

/**
 * The adapter does not know the type "char" (18), which the server's own catalogue is full of, and the engine
 * expects it. It is shown to the adapter as text (25), and to the engine as what it was.
 */
class CatalogueReader {
  readonly pool: pg.Pool;
  private charColumns: number[] = [];

  constructor(connection: pg.Pool) {
    const query = async (config: pg.QueryArrayConfig) => {
      const result = await connection.query(config);
      this.charColumns = result.fields.flatMap((field, index) => (field.dataTypeID === 18 ? [index] : []));
      for (const index of this.charColumns) at(result.fields, index).dataTypeID = 25;
      return result;
    };
    this.pool = Object.assign(Object.create(connection) as pg.Pool, { query });
  }

  retype(result: SqlResultSet): SqlResultSet {
    for (const index of this.charColumns) result.columnTypes[index] = ColumnTypeEnum.Character;
    return result;
  }
}

/** The engine reports its faults as JSON in the message. */
function readable(error: unknown): unknown {
  if (!(error instanceof Error)) return error;
  try {
    const told = JSON.parse(error.message) as { message?: string; user_facing_error?: { message?: string } };
    return new Error(told.user_facing_error?.message ?? told.message ?? error.message, { cause: error });
  } catch {
    return error;
  }
}
