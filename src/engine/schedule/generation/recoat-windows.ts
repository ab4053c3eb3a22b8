import { type AgeTable, minuteOfAddedAge } from '../../cure/age-table.js';
import { NEVER } from '../problem/compile.js';
import type { AgeWindow, KnownAge } from '../problem/problem.js';

/** Elapsed minutes since the predecessor's finish in which the follower may not start; both ends are allowed. */
export interface ForbiddenInterval {
  start: number;
  end: number;
}

const DUST = 1e-6;

/**
 * Where windows of age and elapsed times both leave room, as a least wait and the forbidden intervals after it.
 * @param finish the predecessor's
 * @param minWait the least elapsed wait stated
 * @param stated forbidden intervals of elapsed time stated, in order
 * @param found receives the forbidden intervals that remain, in order
 * @returns the least wait; `NEVER` when the table ends before there is any room
 */
export function combineWindows(
  table: AgeTable,
  windows: readonly AgeWindow[],
  known: KnownAge | undefined,
  finish: number,
  minWait: number,
  stated: readonly ForbiddenInterval[],
  found: ForbiddenInterval[],
): number {
  found.length = 0;
  const since = known ? known.atMinutes : finish;
  let wait = NEVER;
  let end = 0;
  for (const { fromMinutes, toMinutes } of windows) {
    const opens = minuteOfAddedAge(table.drying, table.fromMinute, since, fromMinutes - (known?.dryingMinutes ?? 0));
    if (opens === Infinity) break;
    const closes =
      toMinutes === null || toMinutes === undefined
        ? Infinity
        : toMinutes < (known?.closingMinutes ?? 0)
          ? -Infinity
          : minuteOfAddedAge(table.closing, table.fromMinute, since, toMinutes - (known?.closingMinutes ?? 0));
    const last = closes === Infinity ? NEVER : Math.floor(closes + DUST) - finish;
    let from = Math.max(minWait, Math.ceil(opens - DUST) - finish);
    // The elapsed times that are forbidden cut the window into pieces.
    for (let g = 0; g <= stated.length && from <= last; g++) {
      const interval = stated[g];
      const to = interval ? Math.min(last, interval.start) : last;
      if (from <= to) {
        if (wait === NEVER) wait = from;
        else if (from > end) found.push({ start: end, end: from });
        end = Math.max(end, to);
      }
      if (interval && from < interval.end) from = interval.end;
    }
  }
  if (wait < NEVER && end < NEVER) found.push({ start: end, end: NEVER });
  return wait;
}
