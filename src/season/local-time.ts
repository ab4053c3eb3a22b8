import { Temporal } from 'temporal-polyfill';

/** Turns minutes of a local day into moments. Days are looked up once; only those on which the clock changes need care. */
export class LocalTime {
  private readonly midnights = new Map<string, { start: number; minutes: number }>();

  constructor(private readonly timeZone: string) {}

  /** @param minute on the wall's clock after the day's midnight; 1440 is the next midnight */
  moment(day: string, minute: number): Date {
    const { start, minutes } = this.midnight(day);
    if (minutes === 1440) return new Date(start + minute * 60_000);
    if (minute >= 1440) return new Date(start + minutes * 60_000);
    const wall = Temporal.PlainDate.from(day).toPlainDateTime({ hour: Math.floor(minute / 60), minute: minute % 60 });
    return new Date(wall.toZonedDateTime(this.timeZone).epochMilliseconds);
  }

  private midnight(day: string): { start: number; minutes: number } {
    const known = this.midnights.get(day);
    if (known) return known;
    const date = Temporal.PlainDate.from(day);
    const start = date.toZonedDateTime(this.timeZone).epochMilliseconds;
    const made = {
      start,
      minutes: (date.add({ days: 1 }).toZonedDateTime(this.timeZone).epochMilliseconds - start) / 60_000,
    };
    this.midnights.set(day, made);
    return made;
  }
}
