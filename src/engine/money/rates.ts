import { Decimal } from 'decimal.js';
import { dayNumber } from '../days.js';
import { EngineError } from '../error.js';

/** What an hour and a day of space cost a shop from a day on. */
export interface ShopRates {
  /** YYYY-MM-DD */
  from: string;
  hourlyValue: Decimal.Value;
  spaceCostPerDay: Decimal.Value;
}

export interface RatedLabour {
  minutes: number;
  hourlyValue: Decimal;
}

/** Rates in the order of their days; the first holds for all that was before it, as nothing better is known. */
export class RateHistory {
  private readonly rates: { day: number; hourlyValue: Decimal; spaceCostPerDay: Decimal }[];

  /** @throws EngineError `no-rates` without any, `bad-day` */
  constructor(rates: readonly ShopRates[]) {
    if (rates.length === 0) throw new EngineError('no-rates', 'a shop needs a rate', 'rates');
    this.rates = rates
      .map(({ from, hourlyValue, spaceCostPerDay }, index) => ({
        day: dayNumber(from, `rates/${index}/from`),
        hourlyValue: new Decimal(hourlyValue),
        spaceCostPerDay: new Decimal(spaceCostPerDay),
      }))
      .sort((a, b) => a.day - b.day);
  }

  private on(day: number) {
    return this.rates.findLast((rate) => rate.day <= day) ?? this.rates[0]!;
  }

  /** Minutes of each day at that day's hourly value, those of one value together. */
  labour(minutesByDate: readonly { date: string; minutes: number }[]): RatedLabour[] {
    const byValue = new Map<string, RatedLabour>();
    for (const { date, minutes } of minutesByDate) {
      const { hourlyValue } = this.on(dayNumber(date, 'date'));
      const key = hourlyValue.toString();
      const sum = byValue.get(key) ?? { minutes: 0, hourlyValue };
      sum.minutes += minutes;
      byValue.set(key, sum);
    }
    return [...byValue.values()];
  }

  /** Days from one to another, the last not counted, at each day's cost; those of one cost together. */
  space(from: string, to: string): { days: number; costPerDay: Decimal }[] {
    const [start, end] = [dayNumber(from, 'from'), dayNumber(to, 'to')];
    const stretches: { days: number; costPerDay: Decimal }[] = [];
    for (let day = start; day < end;) {
      const next = this.rates.find((rate) => rate.day > day && rate.day > start)?.day ?? end;
      const until = Math.min(end, Math.max(day + 1, next));
      const { spaceCostPerDay: costPerDay } = this.on(day);
      const same = stretches.find((each) => each.costPerDay.equals(costPerDay));
      if (same) same.days += until - day;
      else stretches.push({ days: until - day, costPerDay });
      day = until;
    }
    return stretches;
  }

  /** Whether a day lies before the first recorded rate, which is then taken. */
  isAssumedOn(date: string): boolean {
    return dayNumber(date, 'date') < this.rates[0]!.day;
  }
}
