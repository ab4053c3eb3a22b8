import { execFileSync } from 'node:child_process';
import fs from 'node:fs';

/**
 * Does a process of this number run (be it another user's)? One that has ended but was not cleared away by its
 * parent, as happens in containers, still takes signals; it does not count.
 */
export function isAlive(pid: number): boolean {
  if (!takesSignals(pid)) return false;
  return !['Z', 'X'].includes(statFields(pid)?.[0] ?? '');
}

/** Is the number taken, whether or not its process still runs? */
export function takesSignals(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** Does any process work in this folder, as the database's own processes do? False where the system does not tell. */
export function isWorkedIn(folder: string): boolean {
  if (process.platform !== 'linux') return false;
  return fs.readdirSync('/proc').some((pid) => {
    try {
      return /^\d+$/.test(pid) && fs.readlinkSync(`/proc/${pid}/cwd`) === folder;
    } catch {
      return false;
    }
  });
}

/** Linux's /proc/PID/stat from its third field on, after the name, which may itself hold spaces. */
function statFields(pid: number): string[] | undefined {
  if (process.platform !== 'linux') return undefined;
  try {
    return fs.readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ').pop()?.split(' ');
  } catch {
    return undefined;
  }
}

/** The program's name, or undefined where the system does not tell. */
export function processName(pid: number): string | undefined {
  try {
    if (process.platform === 'linux') return fs.readFileSync(`/proc/${pid}/comm`, 'utf8').trim();
    return execFileSync('ps', ['-p', String(pid), '-o', 'comm='], { encoding: 'utf8' }).trim();
  } catch {
    return undefined;
  }
}

/** Differs between two processes that had the same number one after the other; undefined where the system does not tell. */
export function processIdentity(pid: number): string | undefined {
  try {
    if (process.platform === 'linux') {
      // Ticks between boot and the process's start.
      return `${fs.readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim()}/${statFields(pid)?.[19]}`;
    }
    return execFileSync('ps', ['-p', String(pid), '-o', 'lstart='], { encoding: 'utf8' }).trim();
  } catch {
    return undefined;
  }
}
