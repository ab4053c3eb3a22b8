/** Numbers, days and chances as people say them, in the shop's time zone, currency and units. Never a false precision. */
import { Temporal } from 'temporal-polyfill';
import { plural as countOf, roughDays, roughWait, shortWorkTime } from '../../engine/durations.js';
import { at } from '../../engine/look-up.js';
import { minorUnits } from '../../engine/money/index.js';
import { type Quantity, readQuantity, sentenceInUnits, showQuantity, unitSymbol, type UnitSystem } from './units.js';

export interface ShopManner {
  currency: string;
  timeZone: string;
  unitSystem: UnitSystem;
}

const months = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];
const weekdays = ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'];

export class Formatter {
  readonly today: Temporal.PlainDate;
  private readonly amounts: Intl.NumberFormat;
  private readonly wholeAmounts: Intl.NumberFormat;

  constructor(
    readonly manner: ShopManner,
    readonly now: Date,
  ) {
    this.today = this.local(now).toPlainDate();
    const style = { style: 'currency', currency: manner.currency, currencyDisplay: 'narrowSymbol' } as const;
    const decimals = minorUnits(manner.currency);
    this.amounts = new Intl.NumberFormat('en', {
      ...style,
      minimumFractionDigits: decimals,
      maximumFractionDigits: decimals,
    });
    this.wholeAmounts = new Intl.NumberFormat('en', { ...style, maximumFractionDigits: 0 });
  }

  private local(moment: Date | string): Temporal.ZonedDateTime {
    const instant =
      typeof moment === 'string'
        ? Temporal.Instant.from(moment)
        : Temporal.Instant.fromEpochMilliseconds(moment.getTime());
    return instant.toZonedDateTimeISO(this.manner.timeZone);
  }

  // --- money ---

  /** "$620", "$59.70": decimals only where there are any. */
  money(amount: string): string {
    return (/\.0*$/.test(amount) || !amount.includes('.') ? this.wholeAmounts : this.amounts).format(
      // A formatter of this Node takes the decimal text as it is; the types still want a number.
      amount as unknown as number,
    );
  }

  /** As one says a guess: "about $390". */
  about(amount: string): string {
    return `about ${this.wholeAmounts.format(Math.round(Number(amount) / 10) * 10)}`;
  }

  // --- time spans ---

  /** Work by the clock: "35 min", "1 h", "1 h 50", "12 h". */
  work(minutes: number): string {
    return tied(shortWorkTime(minutes));
  }

  /** A wait: "15 minutes", "about 5 hours", "about 6 days", "about 3 weeks", "about 4 months". */
  wait(minutes: number): string {
    return tied(roughWait(minutes));
  }

  /** "about 6 days", "about 3 weeks", "about 4 months". */
  days(days: number): string {
    return tied(roughDays(days));
  }

  // --- days and moments ---

  /** "today", "tomorrow", "Thursday", "19 December", "9 February 2028" when that is far. */
  day(date: string): string {
    const day = Temporal.PlainDate.from(date);
    const away = this.today.until(day).days;
    if (away === 0) return 'today';
    if (away === 1) return 'tomorrow';
    if (away === -1) return 'yesterday';
    if (away > 1 && away < 7) return at(weekdays, day.dayOfWeek - 1);
    const far = Math.abs(away) > 300 && day.year !== this.today.year;
    return `${day.day}\u00a0${months[day.month - 1]}${far ? `\u00a0${day.year}` : ''}`;
  }

  /** "on Thursday", "today", "on 19 December". */
  onDay(date: string): string {
    const text = this.day(date);
    return ['today', 'tomorrow', 'yesterday'].includes(text) ? text : `on ${text}`;
  }

  /** Always with its date, as in a table or on paper: "19 Dec 2026". */
  fullDay(date: string): string {
    const day = Temporal.PlainDate.from(date);
    return `${day.day}\u00a0${at(months, day.month - 1).slice(0, 3)}\u00a0${day.year}`;
  }

  dateOf(moment: Date | string): string {
    return this.local(moment).toPlainDate().toString();
  }

  /** "3 pm", "7:40 pm". */
  time(moment: Date | string): string {
    const { hour, minute } = this.local(moment).round({ smallestUnit: 'minute' });
    const half = hour < 12 ? 'am' : 'pm';
    return `${hour % 12 || 12}${minute === 0 ? '' : `:${String(minute).padStart(2, '0')}`}\u00a0${half}`;
  }

  /** "7:40 pm" today, "tomorrow 7:40 am", "Thursday 3 pm", "19 December 3 pm"; the day alone when that is far. */
  moment(moment: Date | string): string {
    const date = this.dateOf(moment);
    const day = this.day(date);
    if (day === 'today') return this.time(moment);
    return Math.abs(this.today.until(Temporal.PlainDate.from(date)).days) > 21 ? day : `${day} ${this.time(moment)}`;
  }

  // --- chances and counts ---

  /** "8 in 10"; what is nearly sure or nearly out of the question is said so. */
  chance(probability: number): string {
    if (probability >= 0.995) return 'almost certain';
    if (probability > 0.95) return 'more than 19 in 20';
    if (probability < 0.005) return 'hardly any chance';
    if (probability < 0.05) return 'less than 1 in 20';
    return `${Math.min(9, Math.max(1, Math.round(probability * 10)))} in 10`;
  }

  /** Pieces, or the metres and litres of what comes so. */
  quantity(value: number): string {
    return String(Number(value.toFixed(3)));
  }

  // --- units ---

  show(quantity: Quantity, stored: number): string {
    return showQuantity(this.manner.unitSystem, quantity, stored);
  }
  symbol(quantity: Quantity): string {
    return unitSymbol(this.manner.unitSystem, quantity);
  }
  read(quantity: Quantity, typed: string): number | undefined {
    return readQuantity(this.manner.unitSystem, quantity, typed);
  }

  /** A sentence of the service's own, with its figures in the shop's units and its days as people say them. */
  sentence(text: string): string {
    return sentenceInUnits(this.manner.unitSystem, text)
      .replace(/\b\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:Z|[+-]\d\d:\d\d)/g, (instant) => this.moment(instant))
      .replace(/\b(?:19|20|21)\d\d-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])\b/g, (date) => this.day(date));
  }
}

const small = ['no', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight', 'nine', 'ten', 'eleven', 'twelve'];
/** "one", "seven", "24". */
export const inWords = (count: number): string => small[count] ?? String(count);

/** "a, b and c" */
export function list(items: readonly string[]): string {
  return items.length < 2 ? (items[0] ?? '') : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
}

export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** "1 bolt", "3 bolts", "2 boxes". */
export const plural = (count: number, noun: string, many?: string): string => tied(countOf(count, noun, many));

/** A number and its unit stay on one line. */
const tied = (words: string): string => words.replace(/(\d) /g, '$1\u00a0').replace(/(h) (\d)/g, '$1\u00a0$2');
