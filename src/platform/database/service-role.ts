/**
 * The role the service works as: it owns nothing, may not pass row-level security, and may do to the tables only
 * what requests need. Its password follows from the owner's, so that replicas agree without telling each other.
 */
import { createHmac } from 'node:crypto';
import pg from 'pg';
import { StartError } from '../settings.js';

/** The owner's URL, turned into the service's. */
export function serviceUrl(adminUrl: string, role: string): string {
  const url = new URL(adminUrl);
  url.password = createHmac('sha256', decodeURIComponent(url.password))
    .update('frostwright service role')
    .digest('base64url');
  url.username = role;
  return url.href;
}

/**
 * Makes the role, or sets its password where it no longer fits, and grants what it needs.
 * @param connection as the owner
 */
export async function ensureServiceRole(connection: pg.Pool, adminUrl: string, role: string): Promise<void> {
  const url = new URL(serviceUrl(adminUrl, role));
  const name = pg.escapeIdentifier(role);
  const { rows } = await connection.query(
    'select current_user = $1 as same, exists (select from pg_roles where rolname = $1) as there, current_database() as database',
    [role],
  );
  if (rows[0].same)
    throw new StartError(
      `DATABASE_ROLE must not be the user in DATABASE_URL: "${role}" owns the tables, and the service may not.`,
    );
  if (!rows[0].there || !(await accepts(url.href))) {
    const what = rows[0].there
      ? `alter role ${name} login`
      : `create role ${name} login nosuperuser nobypassrls nocreatedb nocreaterole`;
    try {
      await connection.query(`${what} password ${pg.escapeLiteral(url.password)}`);
    } catch (error) {
      throw new StartError(
        `The service's role "${role}" could not be set up (${(error as Error).message}). Grant ` +
          `CREATEROLE to the user in DATABASE_URL, or set DATABASE_ROLE to another name.`,
      );
    }
  }
  await connection.query(`
    grant connect on database ${pg.escapeIdentifier(rows[0].database)} to ${name};
    grant usage on schema public to ${name};
    grant select, insert, update, delete on all tables in schema public to ${name};
    grant usage on all sequences in schema public to ${name};
    grant execute on all functions in schema public to ${name};
    revoke all on public."_prisma_migrations" from ${name}`);
}

/** Refuses to serve as a role that the database's own rules would not bind. */
export async function verifyServiceRole(url: string): Promise<void> {
  const client = new pg.Client({ connectionString: url, connectionTimeoutMillis: 10_000 });
  client.on('error', () => {});
  try {
    await client.connect();
    const { rows } = await client.query(`
      select rolname, rolsuper or rolbypassrls as unbound,
             exists (select from pg_class
               where relnamespace = 'public'::regnamespace and pg_has_role(current_user, relowner, 'member'))
               as owner
      from pg_roles where rolname = current_user`);
    const { rolname, unbound, owner } = rows[0];
    if (unbound || owner) {
      throw new StartError(
        `The role "${rolname}" ${unbound ? 'passes by row-level security' : 'owns tables'}, ` +
          `so shops would not be kept apart. Set DATABASE_ROLE to a role of its own.`,
      );
    }
  } catch (error) {
    if (error instanceof StartError) throw error;
    throw new StartError(`The service cannot connect to the database as its own role: ${(error as Error).message}`);
  } finally {
    await client.end().catch(() => {});
  }
}

async function accepts(url: string): Promise<boolean> {
  const client = new pg.Client({ connectionString: url, connectionTimeoutMillis: 10_000 });
  client.on('error', () => {});
  try {
    await client.connect();
    return true;
  } catch {
    return false;
  } finally {
    await client.end().catch(() => {});
  }
}
