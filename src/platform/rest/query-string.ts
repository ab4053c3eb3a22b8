import type { z } from 'zod';
import { Unreadable } from '../errors.js';
import { bare } from '../shapes.js';

/**
 * A query string holds only text; this gives each value the kind its shape asks for. What cannot be read as that
 * kind is left as text, for the shape's own check to complain about with its place.
 */
export function readQuery(shape: z.ZodObject, query: Record<string, unknown>): Record<string, unknown> {
  const input: Record<string, unknown> = {};
  for (const [key, sent] of Object.entries(query)) {
    const field = (shape.shape as Record<string, z.ZodType>)[key];
    if (!field) {
      input[key] = sent;
      continue;
    }
    const kind = bare(field).inner._zod.def.type;
    if (kind === 'array') {
      const element = bare((bare(field).inner._zod.def as unknown as { element: z.ZodType }).element).inner._zod.def.type;
      const all = (Array.isArray(sent) ? sent : [sent]).flatMap((one) => String(one).split(','));
      input[key] = all.map((one) => convert(element, one));
    } else {
      if (Array.isArray(sent)) throw new Unreadable('bad-query', `"${key}" may be given only once.`);
      input[key] = convert(kind, String(sent));
    }
  }
  return input;
}

function convert(kind: string, sent: string): unknown {
  if (kind === 'number' && /^-?\d+(\.\d+)?$/.test(sent)) return Number(sent);
  if (kind === 'boolean' && (sent === 'true' || sent === 'false')) return sent === 'true';
  return sent;
}
