/** When the season makes maintenance due, for a calendar. Common practice, no source; where winters differ, so do the days. */
import type { MaintenanceDue } from './maintenance.js';

export interface Seasons {
  kind: string;
  /** Degrees, south negative: there the seasons are half a year later. */
  latitude: number;
  /** `MM-DD`, when the shop counts the snow season as over. */
  seasonEndMonthDay: string;
}

/** Before the season begins and when it is over, `MM-DD`, in the north and in the south. */
const mowing = { north: ['03-15', '11-15'], south: ['09-15', '05-15'] } as const;
const winterBegins = { north: '10-01', south: '04-01' } as const;

/** The first such day after `from`. */
function nextAfter(from: string, monthDay: string): string {
  const thisYear = `${from.slice(0, 4)}-${monthDay}`;
  return thisYear > from ? thisYear : `${Number(from.slice(0, 4)) + 1}-${monthDay}`;
}

/** @param from the day of the hand-over */
export function withDueDates(items: readonly MaintenanceDue[], seasons: Seasons, from: string) {
  const half = seasons.latitude < 0 ? 'south' : 'north';
  const [before, after] =
    seasons.kind === 'walkBehindMower' ? mowing[half] : [winterBegins[half], seasons.seasonEndMonthDay];
  const seasonal = seasons.kind !== 'other';
  return items.map((one) => ({
    ...one,
    dueDate: !seasonal
      ? null
      : /\bbefore the next\b/.test(one.nextDue)
        ? nextAfter(from, before)
        : /\bafter the last\b/.test(one.nextDue)
          ? nextAfter(from, after)
          : null,
  }));
}
