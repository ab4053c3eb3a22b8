/**
 * What an operation hands over for a shape, before the serializer turns it into the shape's words: rows as the
 * database gave them, days and instants as dates, money and quantities as decimals of either class. A field that the
 * shape requires must be there; further fields may be, and never come through.
 */
import type { Decimal } from 'decimal.js';
import type { z } from 'zod';
import type { Prisma } from '../database/client/client.js';
import type { StoredAsJson, ZodMoney } from '../shapes.js';

/** The engines' decimals, and the class of the same library that the database's client brings along. */
export type AnyDecimal = Decimal | Prisma.Decimal;

export type Row<S extends z.ZodType> = S extends StoredAsJson
  ? z.output<S> | Prisma.JsonValue
  : S extends z.ZodOptional<infer I extends z.ZodType>
    ? Row<I> | undefined
    : S extends z.ZodNullable<infer I extends z.ZodType>
      ? Row<I> | null
      : S extends z.ZodDefault<infer I extends z.ZodType>
        ? Row<I>
        : S extends z.ZodObject<infer F>
          ? ObjectRow<F>
          : S extends z.ZodArray<infer E extends z.ZodType>
            ? readonly Row<E>[]
            : S extends ZodMoney
              ? AnyDecimal | string
              : S extends z.ZodNumber | z.ZodNumberFormat
                ? AnyDecimal | number
                : S extends z.ZodISODate | z.ZodISODateTime
                  ? Date | string
                  : z.output<S>;

type FieldOf<T> = T extends z.ZodType ? Row<T> : never;
type ObjectRow<F> = { readonly [K in keyof F as F[K] extends z.ZodOptional ? never : K]: FieldOf<F[K]> } & {
  readonly [K in keyof F as F[K] extends z.ZodOptional ? K : never]?: FieldOf<F[K]>;
};
