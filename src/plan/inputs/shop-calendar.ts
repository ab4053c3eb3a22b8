/** Local days and opening hours as minutes since the plan's origin: the shop's midnight at the start of today. */
import { LRUCache } from 'lru-cache';
import { Temporal } from 'temporal-polyfill';
import { lookUp } from '../../engine/look-up.js';
import type { Interval } from '../../engine/schedule/index.js';

export interface OpenHours {
  weekday: number;
  opens: string;
  closes: string;
}

const localMinutesCache = new LRUCache<string, LocalMinutes>({ max: 20 });

/** Turns instants, local days and local times into minutes since the origin and back; clock changes are respected. */
export class LocalMinutes {
  private readonly origin: number;
  private readonly first: Temporal.PlainDate;
  private readonly midnights: number[] = [];
  private readonly days: string[] = [];

  /** The same one again for the same day and zone: what it has looked up of the zone's clock serves all plans of a day. */
  static of(today: string, timeZone: string): LocalMinutes {
    const key = `${today} ${timeZone}`;
    const local = localMinutesCache.get(key) ?? new LocalMinutes(today, timeZone);
    localMinutesCache.set(key, local);
    return local;
  }

  /** @param today the shop's local day; @param timeZone an IANA zone */
  constructor(
    readonly today: string,
    readonly timeZone: string,
  ) {
    this.first = Temporal.PlainDate.from(today);
    this.origin = this.epochMinutes(this.first, 0);
  }

  /** Minutes of a moment; whole, rounded down. */
  ofInstant(moment: Date): number {
    return Math.floor(moment.getTime() / 60_000) - this.origin;
  }

  toInstant(minutes: number): Date {
    return new Date((this.origin + minutes) * 60_000);
  }

  /** The local day that a minute lies in. */
  dayOf(minutes: number): string {
    // No local day is a whole day longer or shorter than another, so the guess is off by one at most.
    let offset = Math.floor(minutes / 1440);
    while (this.midnight(offset) > minutes) offset -= 1;
    while (this.midnight(offset + 1) <= minutes) offset += 1;
    return this.dayAt(offset);
  }

  /** Minutes of the local midnight that begins a day. */
  ofDay(day: string): number {
    return this.midnight(this.offsetOf(day));
  }

  /** Minutes of the local midnight that ends a day. */
  endOfDay(day: string): number {
    return this.midnight(this.offsetOf(day) + 1);
  }

  /** How many days a day lies after today. */
  offsetOf(day: string): number {
    return this.first.until(Temporal.PlainDate.from(day)).days;
  }

  /** Minutes of a moment given in minutes since 1970. */
  ofEpochMinute(minute: number): number {
    return minute - this.origin;
  }

  toEpochMinute(minutes: number): number {
    return this.origin + minutes;
  }

  /** Minutes of the midnight `offset` days after today's. */
  midnight(offset: number): number {
    if (offset < 0) return this.epochMinutes(this.first.add({ days: offset }), 0) - this.origin;
    return (this.midnights[offset] ??= this.epochMinutes(this.first.add({ days: offset }), 0) - this.origin);
  }

  weekday(offset: number): number {
    return ((this.first.dayOfWeek - 1 + offset) % 7) + 1;
  }

  /** Minutes of a local time on the day `offset` days after today. */
  at(offset: number, minuteOfDay: number): number {
    const start = this.midnight(offset);
    // Only on the two days a year that have no 1440 minutes does the local clock differ from a plain sum.
    if (this.midnight(offset + 1) - start === 1440) return start + minuteOfDay;
    return this.epochMinutes(this.first.add({ days: offset }), minuteOfDay) - this.origin;
  }

  dayAt(offset: number): string {
    if (offset < 0) return this.first.add({ days: offset }).toString();
    return (this.days[offset] ??= this.first.add({ days: offset }).toString());
  }

  private epochMinutes(date: Temporal.PlainDate, minuteOfDay: number): number {
    const whole = minuteOfDay === 1440 ? date.add({ days: 1 }) : date;
    const time = minuteOfDay === 1440 ? 0 : minuteOfDay;
    const zoned = whole.toZonedDateTime({
      timeZone: this.timeZone,
      plainTime: new Temporal.PlainTime(Math.floor(time / 60), time % 60),
    });
    return Math.floor(zoned.epochMilliseconds / 60_000);
  }
}

const minuteOfDay = (time: string): number => Number(time.slice(0, 2)) * 60 + Number(time.slice(3, 5));

/**
 * @param daysOff local days, both ends included
 * @returns sorted, disjoint open intervals of `days` days from today
 */
export function openIntervals(
  local: LocalMinutes,
  hours: readonly OpenHours[],
  daysOff: readonly { startDate: string; endDate: string }[],
  days: number,
): Interval[] {
  const byWeekday = new Map<number, OpenHours[]>();
  for (const period of [...hours].sort((a, b) => (a.opens < b.opens ? -1 : 1))) {
    byWeekday.set(period.weekday, [...(byWeekday.get(period.weekday) ?? []), period]);
  }
  const intervals: Interval[] = [];
  for (let offset = 0; offset < days; offset += 1) {
    const day = local.dayAt(offset);
    if (daysOff.some((off) => off.startDate <= day && day <= off.endDate)) continue;
    for (const period of byWeekday.get(local.weekday(offset)) ?? []) {
      const startMinutes = local.at(offset, minuteOfDay(period.opens));
      const endMinutes = local.at(offset, minuteOfDay(period.closes));
      const last = intervals.at(-1);
      if (last && last.endMinutes >= startMinutes) last.endMinutes = Math.max(last.endMinutes, endMinutes);
      else if (endMinutes > startMinutes) intervals.push({ startMinutes, endMinutes });
    }
  }
  return intervals;
}

/** How many of several calendars are open, as intervals of constant count. */
export function levels(calendars: readonly (readonly Interval[])[]): (Interval & { open: number })[] {
  const steps = new Map<number, number>();
  for (const { startMinutes, endMinutes } of calendars.flat()) {
    steps.set(startMinutes, (steps.get(startMinutes) ?? 0) + 1);
    steps.set(endMinutes, (steps.get(endMinutes) ?? 0) - 1);
  }
  const times = [...steps.keys()].sort((a, b) => a - b);
  const result: (Interval & { open: number })[] = [];
  let open = 0;
  for (const [index, time] of times.entries()) {
    open += lookUp(steps, time);
    const next = times[index + 1];
    if (next === undefined || open === 0) continue;
    const last = result.at(-1);
    if (last && last.endMinutes === time && last.open === open) last.endMinutes = next;
    else result.push({ startMinutes: time, endMinutes: next, open });
  }
  return result;
}
