/** What the order of tasks allows: when a task may start. */

export interface ForbiddenInterval {
  fromMinutes: number;
  toMinutes: number;
}

/** What comes before a task, as it stands. */
export interface Before {
  /** The predecessor's name, for the answer. */
  name: string;
  finishedAt: Date | null;
  minWaitMinutes: number;
  /** Minutes elapsed since the predecessor's finish in which the task may not start; both ends are allowed. */
  forbiddenIntervals: readonly ForbiddenInterval[];
  reason: string | null;
}

export interface Hindrance {
  code: 'predecessor-unfinished' | 'wait-not-over' | 'recoat-closed';
  before: Before;
  /** The interval that stands against it, where one does. */
  forbidden?: ForbiddenInterval;
  /** When the task may start after all, every link considered; null while a predecessor is unfinished. */
  allowedFrom: Date | null;
}

const minute = 60_000;
const after = (moment: Date, minutes: number): number => moment.getTime() + minutes * minute;

/** @returns what stands against starting at that moment, or null when nothing does */
export function hindranceAt(links: readonly Before[], at: Date): Hindrance | null {
  const unfinished = links.find((link) => link.finishedAt === null || link.finishedAt > at);
  if (unfinished)
    return {
      code: 'predecessor-unfinished',
      before: unfinished,
      allowedFrom: unfinished.finishedAt ? earliestStart(links, at) : null,
    };
  for (const link of links) {
    // eslint-disable-next-line @typescript-eslint/no-non-null-assertion -- the unfinished are told of above
    if (at.getTime() < after(link.finishedAt!, link.minWaitMinutes))
      return { code: 'wait-not-over', before: link, allowedFrom: earliestStart(links, at) };
  }
  for (const link of links) {
    const forbidden = forbiddenOf(link, at.getTime());
    if (forbidden) return { code: 'recoat-closed', before: link, forbidden, allowedFrom: earliestStart(links, at) };
  }
  return null;
}

/**
 * The first moment from `at` on that every link allows.
 * @returns null while a predecessor is unfinished
 */
export function earliestStart(links: readonly Before[], at: Date): Date | null {
  let moment = at.getTime();
  for (const link of links) {
    if (link.finishedAt === null) return null;
    moment = Math.max(moment, after(link.finishedAt, Math.max(0, link.minWaitMinutes)));
  }
  // One link's interval may push the moment into another's, so go round until none does.
  for (let moved = true; moved;) {
    moved = false;
    for (const link of links) {
      const forbidden = forbiddenOf(link, moment);
      if (!forbidden) continue;
      // eslint-disable-next-line @typescript-eslint/no-non-null-assertion -- asked only where all before are finished
      moment = after(link.finishedAt!, forbidden.toMinutes);
      moved = true;
    }
  }
  return new Date(moment);
}

function forbiddenOf(link: Before, moment: number): ForbiddenInterval | undefined {
  // eslint-disable-next-line @typescript-eslint/no-non-null-assertion -- asked only where all before are finished
  const elapsed = (moment - link.finishedAt!.getTime()) / minute;
  return link.forbiddenIntervals.find(({ fromMinutes, toMinutes }) => elapsed > fromMinutes && elapsed < toMinutes);
}
