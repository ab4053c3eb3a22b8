const dayMilliseconds = 86_400_000;

/** Whole days from 1970-01-01 to a plain day, and back: the way days are counted in this area. */
export const numberOfDay = (day: string): number => Date.parse(`${day}T00:00:00Z`) / dayMilliseconds;
export const dayAt = (number: number): string => new Date(number * dayMilliseconds).toISOString().slice(0, 10);
export const addDays = (day: string, days: number): string => dayAt(numberOfDay(day) + days);
