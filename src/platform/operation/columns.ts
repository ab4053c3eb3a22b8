/** An input's fields as the columns that they are stored in: a plain day is a date, all else is as it came. */
import type { z } from 'zod';
import { scalarOf, unwrapSchema } from '../shapes.js';

export type Columns<S extends z.ZodObject> = { [K in keyof z.output<S>]: Column<z.output<S>[K], FieldOf<S, K>> };
type FieldOf<S extends z.ZodObject, K> = K extends keyof S['shape'] ? S['shape'][K] : never;
type Column<V, F> = F extends z.ZodOptional<infer I> | z.ZodNullable<infer I> | z.ZodDefault<infer I>
  ? Column<V, I>
  : F extends z.ZodISODate
    ? Date | Exclude<V, string>
    : V;

/** Keys that were not sent stay out. */
export function asColumns<S extends z.ZodObject>(shape: S, input: z.output<S>): Columns<S> {
  const columns: Record<string, unknown> = {};
  for (const [key, field] of Object.entries(shape.shape as Record<string, z.ZodType>)) {
    const value = (input as Record<string, unknown>)[key];
    if (value !== undefined) columns[key] = columnOf(field, value);
  }
  // The loop does to every key what the type says of it.
  return columns as Columns<S>;
}

export const columnOf = (field: z.ZodType, value: unknown): unknown =>
  typeof value === 'string' && scalarOf(unwrapSchema(field).metas) === 'Day' ? asDate(value) : value;

/** A plain day as Prisma stores it. */
export const asDate = (dayText: string): Date => new Date(`${dayText}T00:00:00Z`);
/** The plain day of a stored date. */
export const asDay = (date: Date): string => date.toISOString().slice(0, 10);
