/**
 * Turns rows as the database gives them into a shape's words: days, instants, decimal strings with the
 * currency's own number of decimals, plain numbers. Only the keys the shape names come through, so a column
 * can never leak by being forgotten.
 */
import { Decimal } from 'decimal.js';
import type { z } from 'zod';
import { minorUnits } from '../../engine/money/index.js';
import { isPriced, scalarOf, unwrapSchema } from '../shapes.js';

export interface Viewer {
  currency: string;
  seesPrices: boolean;
}

type Presenter = (value: unknown, viewer: Viewer, path: string) => unknown;
const known = new WeakMap<z.ZodType, Presenter>();

/**
 * @param schema the shape to present
 * @param value a row, a list of rows or a scalar; Date, Decimal and number are accepted where the shape has text
 * @throws Error when a value that the shape requires is missing: a fault of ours, never of the caller's
 */
export function serialize(schema: z.ZodType, value: unknown, viewer: Viewer): unknown {
  return presenterOf(schema)(value, viewer, '');
}

function presenterOf(schema: z.ZodType): Presenter {
  let presenter = known.get(schema);
  if (!presenter) {
    // Put a forwarding entry first, so that a shape may hold itself.
    known.set(schema, (value, viewer, path) => (presenter as Presenter)(value, viewer, path));
    presenter = build(schema);
    known.set(schema, presenter);
  }
  return presenter;
}

function build(schema: z.ZodType): Presenter {
  const { inner, optional, nullable, metas } = unwrapSchema(schema);
  const priced = isPriced(metas);
  const content = buildContent(inner, scalarOf(metas));
  return (value, viewer, path) => {
    if (priced && !viewer.seesPrices) return null;
    if (value === null || value === undefined) {
      if (nullable) return null;
      if (optional) return undefined;
      throw new Error(`A reply lacks ${path || 'its content'}`);
    }
    return content(value, viewer, path);
  };
}

function buildContent(inner: z.ZodType, scalar: string | undefined): Presenter {
  if (scalar === 'JSON') return (value) => value;
  // Zero is added so that a loss which rounds to nothing is not shown as "-0.00".
  if (scalar === 'Money')
    return (value, viewer) =>
      new Decimal(String(value))
        .toDecimalPlaces(minorUnits(viewer.currency))
        .plus(0)
        .toFixed(minorUnits(viewer.currency));
  if (scalar === 'Day') return (value) => (value instanceof Date ? value.toISOString().slice(0, 10) : value);
  if (scalar === 'Instant') return (value) => (value instanceof Date ? value.toISOString() : value);
  const def = inner._zod.def as { type: string; shape?: Record<string, z.ZodType>; element?: z.ZodType };
  if (def.type === 'object') {
    const fields = Object.entries(def.shape ?? {}).map(([key, field]) => [key, presenterOf(field)] as const);
    return (value, viewer, path) => {
      const shown: Record<string, unknown> = {};
      for (const [key, presenter] of fields) {
        const one = presenter((value as Record<string, unknown>)[key], viewer, `${path}/${key}`);
        if (one !== undefined) shown[key] = one;
      }
      return shown;
    };
  }
  if (def.type === 'array') {
    const element = presenterOf(def.element as z.ZodType);
    return (value, viewer, path) => (value as unknown[]).map((one, index) => element(one, viewer, `${path}/${index}`));
  }
  if (def.type === 'number') return (value) => (typeof value === 'number' ? value : Number(String(value)));
  return (value) => value;
}
