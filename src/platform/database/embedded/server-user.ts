/**
 * PostgreSQL refuses to run as root. Started by root, it is run as the owner of the data it is given, or else
 * as an unprivileged user that the system already has.
 */
import { execFileSync, spawnSync } from 'node:child_process';
import fs from 'node:fs';
import path from 'node:path';
import { at } from '../../../engine/look-up.js';
import { StartError } from '../../settings.js';

export interface ServerUser {
  /** Whom the server's files must belong to; undefined when that is this process's own user. */
  owner?: { uid: number; gid: number };
  /** What to spawn with; empty when the command line sees to it, or there is nothing to change. */
  ids: { uid?: number; gid?: number };
  /** The command line that runs the program as that user. */
  command(program: string, args: string[]): string[];
}

/**
 * @param cluster the database's folder, if it exists yet
 * @param needed paths that the server must be able to reach
 */
export function databaseUser(cluster: string, needed: string[]): ServerUser {
  const asIs: ServerUser = { ids: {}, command: (program, args) => [program, ...args] };
  if (process.getuid?.() !== 0) return asIs;

  const { uid, gid } = ownerOf(cluster) ?? account('postgres') ?? account('nobody') ?? noAccount();
  const closed = needed.flatMap(foldersAbove).find((folder) => !mayEnter(folder, uid, gid));
  if (!closed) return { owner: { uid, gid }, ids: { uid, gid }, command: asIs.command };

  // Below a folder that only root may enter, such as root's home: the server is given that one right as well.
  // The secure bit keeps the right in force for the check of its own programs that the server makes.
  const right = ['--inh-caps=+dac_read_search', '--ambient-caps=+dac_read_search', '--securebits=+no_setuid_fixup'];
  const prefix = ['setpriv', `--reuid=${uid}`, `--regid=${gid}`, '--clear-groups', ...right, '--'];
  if (spawnSync(at(prefix, 0), [...prefix.slice(1), 'true']).status === 0) {
    return { owner: { uid, gid }, ids: {}, command: (program, args) => [...prefix, program, ...args] };
  }
  throw new StartError(
    `The embedded database may not run as root, and the user it would run as (uid ${uid}) cannot enter ${closed}. ` +
      'Move the project out of there, start it as an ordinary user, or set DATABASE_URL to a PostgreSQL of your own.',
  );
}

function ownerOf(folder: string): { uid: number; gid: number } | undefined {
  const stat = fs.statSync(folder, { throwIfNoEntry: false });
  return stat && stat.uid !== 0 ? { uid: stat.uid, gid: stat.gid } : undefined;
}

function account(name: string): { uid: number; gid: number } | undefined {
  try {
    const number = (flag: string) =>
      Number(execFileSync('id', [flag, name], { encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] }));
    return { uid: number('-u'), gid: number('-g') };
  } catch {
    return undefined;
  }
}

function noAccount(): never {
  throw new StartError(
    'The embedded database may not run as root, and there is no user "postgres" or "nobody" to run it as. Start this as an ordinary user.',
  );
}

function foldersAbove(file: string): string[] {
  const above = path.dirname(file);
  return above === file ? [] : [above, ...foldersAbove(above)];
}

function mayEnter(folder: string, uid: number, gid: number): boolean {
  const stat = fs.statSync(folder, { throwIfNoEntry: false });
  if (!stat) return true;
  const right = stat.uid === uid ? 0o100 : stat.gid === gid ? 0o010 : 0o001;
  return (stat.mode & right) !== 0;
}
