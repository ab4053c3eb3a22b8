/**
 * The scalars every shape is made of. Each carries a `scalar` mark, by which the GraphQL types, the OpenAPI
 * document and the presenter know it; so a word such as "money" means one thing everywhere.
 */
import { z } from 'zod';

export type ScalarMark = 'ID' | 'Money' | 'Day' | 'Instant' | 'Int' | 'Float' | 'JSON';

declare module 'zod' {
  interface GlobalMeta {
    /** Which scalar this is, where plain string or number would not say enough. */
    scalar?: ScalarMark;
    /** An amount of money that a helper's key is not shown. */
    priced?: boolean;
  }
}

export const id = z.uuid('must be an id such as 0197c1f0-5a6e-7c3e-9d1b-2f6f0a9c4b11').meta({ scalar: 'ID' });

/** A calendar day without a zone. */
export const day = z.iso
  .date('must be a day such as 2026-04-30')
  .refine((text) => text >= '1900-01-01' && text <= '2199-12-31', 'must lie between 1900-01-01 and 2199-12-31')
  .meta({ scalar: 'Day' });

/** A moment, RFC 3339 with its offset. */
export const instant = z.iso
  .datetime({ offset: true, error: 'must be a moment with its offset, such as 2026-04-30T09:00:00-05:00' })
  .refine((text) => text >= '1900' && text < '2200', 'must lie between the years 1900 and 2199')
  .meta({ scalar: 'Instant' });

declare const moneyMark: unique symbol;
/** A string that is an amount of money: what is handed over for it may be a decimal, for any other string it may not. */
export type ZodMoney = z.ZodString & { readonly [moneyMark]: true };
// The mark exists for the compiler only; at run time the `scalar` says the same.
const markedMoney = (schema: z.ZodString) => schema as ZodMoney;

declare const jsonMark: unique symbol;
/** A list that a column holds as JSON: it is written only through its shape, so it is handed over as it was read. */
export interface StoredAsJson {
  readonly [jsonMark]: true;
}
// As above, the mark is the compiler's alone.
export const storedAsJson = <S extends z.ZodType>(schema: S) => schema as S & StoredAsJson;

/**
 * An amount in the shop's currency, as a decimal string: never a JSON number, which would pass through a float.
 * How many decimals the currency allows is checked where the currency is known.
 */
export const money = markedMoney(
  z
    .string('must be an amount as text, such as "129.95"')
    .regex(/^-?\d{1,11}(\.\d{1,4})?$/, {
      error: ({ input }) => {
        const [, whole] = /^-?(\d+)(\.\d+)?$/.exec(String(input)) ?? [];
        if (!whole) return 'must be digits with at most one point, such as "129.95": no currency sign, no separators';
        return whole.length > 11
          ? 'is too large: an amount has at most 11 digits before the point'
          : 'has too many decimals';
      },
    })
    .meta({ scalar: 'Money' }),
);

/** An amount that cannot be negative. */
export const amount = money.refine((text) => !text.startsWith('-'), 'must not be negative').meta({ scalar: 'Money' });

/** An amount shown only to keys that may see prices; null for the others. */
export const priced = money.nullable().meta({ priced: true, description: 'Null for keys that may not see prices.' });

export const int = (min: number, max: number) => z.int().min(min).max(max).meta({ scalar: 'Int' });
/** A whole number in a reply, whatever its range. */
export const wholeNumber = z.number().int().meta({ scalar: 'Int' });
export const count = int(0, 2_000_000_000);
export const decimal = (min: number, max: number) => z.number().min(min).max(max).meta({ scalar: 'Float' });

/** Text a person wrote. Control characters are refused, since a NUL cannot be stored and the rest is never meant. */
export const text = (max = 200) =>
  z
    .string()
    .trim()
    .min(1, 'must not be empty')
    .max(max, `must have at most ${max} characters`)
    // eslint-disable-next-line no-control-regex
    .regex(/^[^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]*$/, 'must not hold control characters')
    .refine((value) => value.isWellFormed(), 'must be well-formed Unicode');
export const longText = text(4000);
/** Why a record is corrected; it is kept with the audit entry. */
export const correctionReason = text(400).meta({ description: 'Why it is corrected; kept with the audit entry.' });

/** Keeps a shape's name beside it: the OpenAPI component and the GraphQL type carry it. */
export const shape = <T extends z.ZodRawShape>(name: string, fields: T, description?: string) =>
  z.strictObject(fields).meta({ id: name, ...(description ? { description } : {}) });

export const choice = <const T extends readonly [string, ...string[]]>(name: string, values: T, description?: string) =>
  z.enum(values).meta({ id: name, ...(description ? { description } : {}) });

/** The fields of every stored record. */
export const recordFields = {
  id,
  createdAt: instant,
};
export const editableFields = {
  ...recordFields,
  updatedAt: instant,
  version: int(1, 2_000_000_000).meta({ scalar: 'Int', description: 'Counts the changes; the ETag is made of it.' }),
};

/** The wrappers (optional, nullable, default, …) taken off, with what they allowed. */
export function unwrapSchema(schema: z.ZodType): {
  inner: z.ZodType;
  optional: boolean;
  nullable: boolean;
  hasDefault: boolean;
  metas: z.GlobalMeta[];
} {
  let inner = schema;
  let optional = false;
  let nullable = false;
  let hasDefault = false;
  const metas: z.GlobalMeta[] = [];
  for (;;) {
    const meta = inner.meta();
    if (meta) metas.push(meta);
    const def = inner._zod.def as { type: string; innerType?: z.ZodType; in?: z.ZodType };
    if (def.type === 'optional') optional = true;
    else if (def.type === 'nullable') nullable = true;
    else if (def.type === 'default' || def.type === 'prefault') hasDefault = true;
    else if (def.type === 'pipe' && def.in) {
      inner = def.in;
      continue;
    } else if (def.type !== 'readonly') return { inner, optional, nullable, hasDefault, metas };
    inner = def.innerType as z.ZodType;
  }
}

export const scalarOf = (metas: z.GlobalMeta[]): ScalarMark | undefined => metas.find((m) => m.scalar)?.scalar;
export const isPriced = (metas: z.GlobalMeta[]): boolean => metas.some((m) => m.priced);
export const nameOf = (schema: z.ZodType): string | undefined => unwrapSchema(schema).metas.find((m) => m.id)?.id;

/** How many of a part: pieces, or a length or volume in thousandths. */
export const quantity = decimal(0.001, 100_000_000).multipleOf(0.001, 'must be a whole number of thousandths');
export const quantityOrNone = decimal(0, 100_000_000).multipleOf(0.001, 'must be a whole number of thousandths');
/** The version of a record that the caller has read. */
export const version = int(1, 2_000_000_000);
