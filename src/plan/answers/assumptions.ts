/** What the answers take for granted where a shop has not said it yet. Pure. */
import type { ScheduledRecords } from '../model/scheduled-records.js';
import { longWaitWords, luckWords } from './luck-words.js';

interface Rates {
  hourlyValue: { toString(): string };
  spaceCostPerDay: { toString(): string };
}

export function assumptions(shop: Rates, made: ScheduledRecords): string[] {
  const { people } = made.records;
  const unset = [
    ...(Number(shop.hourlyValue) === 0 ? ['an hour of work'] : []),
    ...(Number(shop.spaceCostPerDay) === 0 ? ['a day of space'] : []),
  ];
  return [
    ...(people.length === 0 ? ['nobody is entered yet: the plan takes one person to be in all opening hours'] : []),
    ...(unset.length > 0
      ? [
          `${unset.join(' and ')} ${unset.length === 1 ? 'is' : 'are'} computed at 0: the ` +
            `shop has entered no value for ${unset.length === 1 ? 'it' : 'them'}`,
        ]
      : []),
    ...luckWords(made.records),
    ...longWaitWords(made),
  ];
}
