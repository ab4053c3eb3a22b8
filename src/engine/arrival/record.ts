import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';
import type { Observation } from './pool.js';

/** A date the supplier named for a line; no day means that it was withdrawn, or that there is none yet. */
export interface PromiseMade {
  statedDate: string;
  promisedDate: string | null;
}

/** One order line as the records hold it. Days are YYYY-MM-DD. */
export interface ArrivalLine {
  id: string;
  supplierId: string;
  /** Part family: 'carburettor', 'belt', 'fastener'. */
  family: string;
  orderedDate: string;
  /** The day on which the ordered quantity was complete and right; absent or null while any is outstanding. */
  receivedDate?: string | null;
  /** The day on which the wait ended without the goods: cancelled, or bought elsewhere. */
  cancelledDate?: string | null;
  /** In the order in which they were stated. */
  promises?: readonly PromiseMade[];
}

/** A line in day numbers, as it stood on one day: what became known later is left out. */
export interface KnownLine {
  id: string;
  supplierId: string;
  family: string;
  ordered: number;
  /** Day of receipt, or null if it has not come. */
  received: number | null;
  /** The first day of which it is not known whether it came: the day of asking, or of cancelling. */
  openSince: number;
  promises: { stated: number; promised: number | null }[];
}

/**
 * @returns the line as it stood on day `asOf`, or null if it was not yet ordered.
 * @throws EngineError `bad-day` for a malformed day, `bad-order` for days that contradict one another.
 */
export function knownOn(line: ArrivalLine, asOf: number, path = ''): KnownLine | null {
  const ordered = dayNumber(line.orderedDate, `${path}orderedDate`);
  const received = line.receivedDate ? dayNumber(line.receivedDate, `${path}receivedDate`) : null;
  const cancelled = line.cancelledDate ? dayNumber(line.cancelledDate, `${path}cancelledDate`) : null;
  notBefore(received, ordered, 'received before it was ordered', `${path}receivedDate`);
  notBefore(cancelled, ordered, 'cancelled before it was ordered', `${path}cancelledDate`);
  let last = ordered;
  const promises = (line.promises ?? []).map((promise, k) => {
    const at = `${path}promises.${k}.`;
    const written = dayNumber(promise.statedDate, `${at}statedDate`);
    const promised = promise.promisedDate === null ? null : dayNumber(promise.promisedDate, `${at}promisedDate`);
    notBefore(promised, written, 'promised for a day before the promise was made', `${at}promisedDate`);
    // A quote from before the order, or a promise entered late, counts from when the one before it stood.
    last = Math.max(last, written);
    return { stated: last, promised: promised === null ? null : Math.max(promised, last) };
  });
  if (ordered > asOf) return null;
  const end = received ?? cancelled ?? Infinity;
  return {
    id: line.id,
    supplierId: line.supplierId,
    family: line.family,
    ordered,
    received: received !== null && received <= asOf ? received : null,
    openSince: Math.min(asOf, cancelled ?? Infinity),
    promises: promises.filter((p) => p.stated <= asOf && p.stated <= end),
  };
}

function notBefore(day: number | null, earliest: number, what: string, path: string): void {
  if (day !== null && day < earliest) throw new EngineError('bad-order', what, path);
}

/**
 * Elapsed time to an arrival day: goods ordered on one day and come `days` later took between `days` and `days` + 1,
 * and the middle stands for it.
 */
export function elapsed(days: number): number {
  return days + 0.5;
}

/** How long each line took from its order. */
export function leadTimes(lines: readonly KnownLine[]): Observation[] {
  return lines.flatMap((line) => outcome(line, line.family, line.ordered, 1));
}

/** How each dated promise turned out: time it took over time it named, both from the day it was stated. */
export function slips(lines: readonly KnownLine[]): Observation[] {
  return lines.flatMap((line) =>
    line.promises.flatMap(({ stated, promised }) =>
      // A supplier's word is judged over all it sells: families would split the record too thin.
      promised === null ? [] : outcome(line, '', stated, elapsed(promised - stated)),
    ),
  );
}

/** How long each line still took from the day it was said to have no date. */
export function backOrderWaits(lines: readonly KnownLine[]): Observation[] {
  return lines.flatMap((line) => {
    const notice = line.promises.find((p) => p.promised === null);
    return notice ? outcome(line, line.family, notice.stated, 1) : [];
  });
}

function outcome(line: KnownLine, family: string, from: number, unit: number): Observation[] {
  const { id: lineId, supplierId } = line;
  if (line.received !== null) {
    return [{ lineId, supplierId, family, log: Math.log(elapsed(line.received - from) / unit), atLeast: false }];
  }
  const open = line.openSince - from;
  return open > 0 ? [{ lineId, supplierId, family, log: Math.log(open / unit), atLeast: true }] : [];
}
