import type { z } from 'zod';
import { Unreadable } from '../errors.js';
import { unwrapSchema } from '../shapes.js';

/**
 * A query string holds only text; this gives each value the kind its shape asks for. What cannot be read as that
 * kind is left as text, for the shape's own check to complain about with its place.
 */
export function readQuery(shape: z.ZodObject, query: Record<string, unknown>): Record<string, unknown> {
  const fields = shape.shape as Record<string, z.ZodType>;
  // A caller may send any key, `constructor` and `__proto__` too: only the shape's own fields count, and no key is assigned to.
  return Object.fromEntries(
    Object.entries(query).map(([key, sent]) => {
      const field = Object.hasOwn(fields, key) ? fields[key] : undefined;
      return [key, field ? readValue(field, key, sent) : sent];
    }),
  );
}

function readValue(field: z.ZodType, key: string, sent: unknown): unknown {
  const { def } = unwrapSchema(field).inner._zod;
  if (def.type === 'array') {
    // The library's type of a definition does not narrow by its `type`.
    const element = unwrapSchema((def as unknown as { element: z.ZodType }).element).inner._zod.def.type;
    return (Array.isArray(sent) ? sent : [sent])
      .flatMap((one) => String(one).split(','))
      .map((one) => convert(element, one));
  }
  if (Array.isArray(sent)) throw new Unreadable('bad-query', `"${key}" may be given only once.`);
  return convert(def.type, String(sent));
}

function convert(kind: string, sent: string): unknown {
  if (kind === 'number' && /^-?\d+(\.\d+)?$/.test(sent)) return Number(sent);
  if (kind === 'boolean' && (sent === 'true' || sent === 'false')) return sent === 'true';
  return sent;
}
