import { Decimal } from 'decimal.js';
import { dayNumber } from '../days.js';

/** One thing that could be done about a line that does not come. */
export interface ShortageOption {
  /** False: refused by some rule; it is listed all the same, last. */
  allowed: boolean;
  /** Day on which the parts would be at hand with one chance in two; null when nobody knows. */
  arrivalDate: string | null;
  /** What the parts cost, in the shop's currency; null when not known. */
  cost: Decimal | null;
  /** What is still to be paid for it: nothing for what lies in a bin, whatever it once cost. Null when not known. */
  outlay: Decimal | null;
  /** It is what the plan does while it waits, so it changes nothing beside waiting. */
  alreadyPlanned?: boolean;
  /** Days by which the completion of all jobs together moves beside waiting, by its effects; negative is sooner. */
  completionDays: number;
  /** The same where what is waited for comes as late as one time in five: what waiting risks. */
  lateDays: number;
  /** Jobs that then have a day within what is planned, and by waiting have none. */
  jobsGained: number;
  /** Chance that the waiting job is ready before the snow if this is done; null when not known. */
  readiness: number | null;
}

/** What happens if nothing is done: the option to wait. */
export type WaitingAsIs = Pick<ShortageOption, 'arrivalDate' | 'readiness'>;

/**
 * Ranks options, the best first: allowed before refused; then the likelier to be ready (by whole points of a hundred);
 * then the more jobs that get a day at all, and the sooner jobs finish where arrivals are late (by whole days); then the less
 * to be paid yet, what is not known after all that is; then the sooner here. Options that are equal in all of this keep their order.
 * Readiness goes first because the value of finishing falls off a cliff after the season's peak.
 * @returns each with its reasons beside waiting, as sentences
 */
export function rankShortageOptions<T extends ShortageOption>(
  options: readonly T[],
  waiting: WaitingAsIs,
): (T & { rankReasons: string[] })[] {
  return [...options].sort(compare).map((option) => ({ ...option, rankReasons: reasonsFor(option, waiting) }));
}

function compare(a: ShortageOption, b: ShortageOption): number {
  return (
    Number(b.allowed) - Number(a.allowed) ||
    points(b.readiness) - points(a.readiness) ||
    b.jobsGained - a.jobsGained ||
    Math.round(a.lateDays) - Math.round(b.lateDays) ||
    compareCost(a.outlay, b.outlay) ||
    arrival(a.arrivalDate) - arrival(b.arrivalDate) ||
    0
  );
}

function points(readiness: number | null): number {
  return readiness === null ? -1 : Math.round(readiness * 100);
}

function compareCost(a: Decimal | null, b: Decimal | null): number {
  if (a === null || b === null) return Number(a === null) - Number(b === null);
  return a.comparedTo(b);
}

const NEVER = Number.MAX_SAFE_INTEGER;

function arrival(day: string | null): number {
  return day === null ? NEVER : dayNumber(day, 'arrivalDate');
}

const counted = (count: number, word: string): string => `${count} ${word}${count === 1 ? '' : 's'}`;

function reasonsFor(option: ShortageOption, waiting: WaitingAsIs): string[] {
  const { allowed, arrivalDate, completionDays, lateDays, jobsGained, readiness } = option;
  if (allowed && option.alreadyPlanned)
    return ['The plan does so already while it waits: beside waiting it changes nothing.'];
  const reasons: string[] = [];
  if (!allowed) reasons.push('Refused, so it ranks after everything that is allowed.');
  if (readiness !== null && waiting.readiness !== null) {
    const gain = points(readiness) - points(waiting.readiness);
    reasons.push(
      gain === 0
        ? `Ready before the snow as likely as by waiting, ${points(readiness)} %.`
        : `Ready before the snow ${counted(Math.abs(gain), 'point')} ` +
            `${gain > 0 ? 'likelier' : 'less likely'} than by waiting, ${points(readiness)} %.`,
    );
  }
  const moved = (days: number): string => `${counted(Math.abs(days), 'day')} ${days < 0 ? 'sooner' : 'later'} in all.`;
  const days = Math.round(completionDays);
  const late = Math.round(lateDays);
  if (days !== 0) reasons.push(`Jobs finish ${moved(days)}`);
  else if (late === 0 && jobsGained === 0) reasons.push('No job finishes sooner by it.');
  if (late !== days && late !== 0)
    reasons.push(`Where what is waited for comes as late as one time in five, jobs finish ${moved(late)}`);
  if (jobsGained > 0) reasons.push(`${counted(jobsGained, 'job')} without a day by waiting would have one.`);
  if (jobsGained < 0) reasons.push(`${counted(-jobsGained, 'job')} with a day by waiting would have none.`);
  if (arrivalDate === null) reasons.push('Nobody knows when the parts would be at hand.');
  else if (waiting.arrivalDate === null)
    reasons.push(`The parts are at hand on ${arrivalDate}; by waiting, nobody knows when.`);
  else {
    const sooner = dayNumber(waiting.arrivalDate, 'waiting.arrivalDate') - dayNumber(arrivalDate, 'arrivalDate');
    if (sooner !== 0)
      reasons.push(
        `The parts are at hand ${counted(Math.abs(sooner), 'day')} ${sooner > 0 ? 'before' : 'after'} what is waited for.`,
      );
  }
  reasons.push(costWords(option));
  return reasons;
}

function costWords({ cost, outlay }: ShortageOption): string {
  if (cost === null) return 'Its cost is not known.';
  const paid = cost.greaterThan(0) && outlay?.isZero();
  return paid
    ? `It cost ${cost.toFixed()} when it came in; nothing more is to be paid.`
    : `It costs ${cost.toFixed()}.`;
}
