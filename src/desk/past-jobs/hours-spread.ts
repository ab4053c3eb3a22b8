/** Lays hours of which only the sum is remembered on days, so that nobody is at two benches at once. Pure. */
import { Temporal } from 'temporal-polyfill';

export interface Stretch {
  start: number;
  end: number;
}

const OPENS_HOUR = 7;
const CLOSES_HOUR = 21;
/** Of one job a day: a working day. Common practice, no source. */
const MOST_MINUTES_A_DAY = 8 * 60;

/**
 * From the first day on, as early in each as the person is free, eight hours of one job a day at most.
 * @param taken the person's other work; what is laid out here is added to it
 * @returns stretches in order; undefined where the days do not hold them
 */
export function spreadHours(
  minutes: number,
  { from, to, timeZone }: { from: string; to: string; timeZone: string },
  taken: Stretch[],
): Stretch[] | undefined {
  const made: Stretch[] = [];
  let left = minutes;
  for (let day = Temporal.PlainDate.from(from); left > 0; day = day.add({ days: 1 })) {
    if (day.toString() > to) return undefined;
    const at = (hour: number) =>
      day.toZonedDateTime({ timeZone, plainTime: new Temporal.PlainTime(hour) }).epochMilliseconds;
    let today = Math.min(left, MOST_MINUTES_A_DAY);
    let start = at(OPENS_HOUR);
    const closes = at(CLOSES_HOUR);
    const busy = taken.filter((one) => one.end > start && one.start < closes).sort((a, b) => a.start - b.start);
    for (const gapEnd of [...busy.map((one) => one.start), closes]) {
      const free = Math.floor((gapEnd - start) / 60_000);
      if (free > 0 && today > 0) {
        const length = Math.min(free, today);
        made.push({ start, end: start + length * 60_000 });
        today -= length;
        left -= length;
      }
      const met = busy.find((one) => one.start === gapEnd);
      if (met) start = Math.max(start, met.end);
    }
  }
  taken.push(...made);
  return made;
}
