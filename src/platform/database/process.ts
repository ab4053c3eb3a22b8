import { execFileSync } from 'node:child_process';
import fs from 'node:fs';

/** Does a process of this number exist (be it another user's)? */
export function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
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
      // Field 22, counted after the name, which may itself hold spaces: ticks between boot and the process's start.
      const ticks = fs.readFileSync(`/proc/${pid}/stat`, 'utf8').split(') ').pop()!.split(' ')[19];
      return `${fs.readFileSync('/proc/sys/kernel/random/boot_id', 'utf8').trim()}/${ticks}`;
    }
    return execFileSync('ps', ['-p', String(pid), '-o', 'lstart='], { encoding: 'utf8' }).trim();
  } catch {
    return undefined;
  }
}
