/**
 * What came in with a form, read field by field in the shop's own units and time. Every fault is kept beside its field, so
 * that the page can be shown again with all of them and with what was typed.
 */
import { Temporal } from 'temporal-polyfill';
import type { Formatter } from './format.js';
import type { Quantity } from './units.js';

export interface SentFile {
  name: string;
  content: Buffer;
}

/** Thrown once all fields of an act have been read and some were wrong. */
export class WrongFields extends Error {
  constructor(readonly wrong: Record<string, string>) {
    super(Object.values(wrong).join(' '));
  }
}

export class Form {
  private readonly wrong: Record<string, string> = {};

  constructor(
    private readonly fields: ReadonlyMap<string, readonly string[]>,
    private readonly say: Formatter,
    readonly files: readonly SentFile[] = [],
  ) {}

  /** As typed, for showing the form again. */
  raw(name: string): string {
    return this.fields.get(name)?.[0] ?? '';
  }
  all(name: string): readonly string[] {
    return (this.fields.get(name) ?? []).filter((value) => value !== '');
  }
  has(name: string): boolean {
    return this.raw(name).trim() !== '';
  }

  /** @throws WrongFields when any field read so far was wrong */
  check(): void {
    if (Object.keys(this.wrong).length > 0) throw new WrongFields(this.wrong);
  }
  fault(name: string, detail: string): void {
    this.wrong[name] ??= detail;
  }

  text(name: string): string | null {
    return this.raw(name).trim() || null;
  }
  needed(name: string, what: string): string {
    const value = this.text(name);
    if (value === null) this.fault(name, `Say ${what}.`);
    return value ?? '';
  }
  checked(name: string): boolean {
    return this.has(name);
  }
  oneOf<const T extends readonly string[]>(name: string, values: T, otherwise: T[number] | null = null): T[number] {
    const value = this.text(name) ?? otherwise;
    if (value === null || !values.includes(value)) this.fault(name, 'Choose one of these.');
    return value as T[number];
  }

  /** One of the values, or null where none was chosen. */
  oneOfOr<const T extends readonly string[]>(name: string, values: T): T[number] | null {
    return this.has(name) ? this.oneOf(name, values) : null;
  }

  /** An amount as people write it: "$1,240.50", "60", "59,70". Decimal text as the operations take it. */
  money(name: string): string | null {
    const typed = this.raw(name)
      .trim()
      .replace(/^[^\d.,-]+|[^\d.,]+$/gu, '')
      .replace(/\s/gu, '');
    if (typed === '') {
      if (this.has(name)) this.fault(name, 'Write an amount, such as 59.70.');
      return null;
    }
    const plain = /^-?\d+,\d{1,2}$/.test(typed) ? typed.replace(',', '.') : typed.replace(/,(?=\d{3}(\D|$))/g, '');
    if (!/^-?\d+(\.\d+)?$/.test(plain)) this.fault(name, 'Write an amount, such as 59.70.');
    return plain;
  }
  moneyNeeded(name: string, what: string): string {
    const value = this.money(name);
    if (value === null) this.fault(name, `Say ${what}.`);
    return value ?? '0';
  }

  number(name: string, what = 'a number, such as 3'): number | null {
    const typed = this.raw(name).trim();
    if (typed === '') return null;
    const value = Number(typed.replace(',', '.'));
    if (!Number.isFinite(value)) {
      this.fault(name, `Write ${what}.`);
      return null;
    }
    return value;
  }
  numberNeeded(name: string, what: string): number {
    const value = this.number(name);
    if (value === null) this.fault(name, `Say ${what}.`);
    return value ?? 0;
  }
  whole(name: string): number | null {
    const value = this.number(name, 'a whole number');
    if (value !== null && !Number.isInteger(value)) this.fault(name, 'Write a whole number.');
    return value;
  }

  /** In the shop's unit as typed; metric as returned. */
  quantity(name: string, quantity: Quantity): number | null {
    if (!this.has(name)) return null;
    const value = this.say.read(quantity, this.raw(name));
    if (value === undefined) this.fault(name, `Write a number in ${this.say.symbol(quantity)}.`);
    return value ?? null;
  }

  quantityNeeded(name: string, quantity: Quantity, what: string): number {
    const value = this.quantity(name, quantity);
    if (value === null) this.fault(name, `Say ${what}.`);
    return value ?? 0;
  }

  date(name: string): string | null {
    const typed = this.raw(name).trim();
    if (typed === '') return null;
    if (!/^\d{4}-\d\d-\d\d$/.test(typed)) this.fault(name, 'Write a date.');
    return typed;
  }

  dateNeeded(name: string, what: string): string {
    const value = this.date(name);
    if (value === null) this.fault(name, `Say ${what}.`);
    return value ?? '';
  }

  /** When the tap was made: what waited for the network keeps its own time, but never a future one. */
  get tapped(): Date {
    const sent = Date.parse(this.raw('tappedAt'));
    return Number.isNaN(sent) || sent > this.say.now.getTime() ? this.say.now : new Date(sent);
  }

  /**
   * When it happened: `when` is one of the usual words, or "at" with a local date and time in `whenAt`.
   * @returns an instant; the tap's own unless said
   */
  moment(name = 'when'): string {
    const tapped = Temporal.Instant.fromEpochMilliseconds(this.tapped.getTime());
    const local = tapped.toZonedDateTimeISO(this.say.manner.timeZone);
    const said = this.raw(name);
    const minutes = /^-(\d+)$/.exec(said)?.[1];
    if (minutes) return tapped.subtract({ minutes: Number(minutes) }).toString();
    if (said === 'morning') {
      const nine = local.startOfDay().with({ hour: 9 });
      return (Temporal.ZonedDateTime.compare(nine, local) < 0 ? nine : local).toInstant().toString();
    }
    if (said === 'yesterday') return local.subtract({ days: 1 }).startOfDay().with({ hour: 16 }).toInstant().toString();
    const typed = this.raw(`${name}At`).trim();
    if (said === 'at' || (said === '' && typed !== '')) {
      try {
        return Temporal.PlainDateTime.from(typed).toZonedDateTime(this.say.manner.timeZone).toInstant().toString();
      } catch {
        this.fault(`${name}At`, 'Say on which day and at what time.');
      }
    }
    return tapped.toString();
  }

  /** The day on which it happened, by the same words. */
  day(name = 'when'): string {
    return this.say.dateOf(this.moment(name));
  }
}
