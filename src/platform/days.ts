/** Plain days, counted and moved: what every area computes with. */
import { dayNumber, isoDay } from '../engine/days.js';

/** Whole days from 1970-01-01 to a plain day, and back. */
export const numberOfDay = (day: string): number => dayNumber(day);
export const dayAt = (number: number): string => isoDay(number);
export const addDays = (day: string, days: number): string => isoDay(dayNumber(day) + days);
/** How many days the second lies after the first. */
export const daysBetween = (from: string, to: string): number => dayNumber(to) - dayNumber(from);
