/** What is wrong with an input, in words for whoever sent it: each fault with its place. */
import { z } from 'zod';
import { at as elementAt } from '../../engine/look-up.js';
import { type Fault, Invalid } from '../errors.js';
import { unwrapSchema } from '../shapes.js';

type Issue = z.core.$ZodIssue;

/** Beyond this many, a shape's fields are not listed to who sent another. */
const MOST_LISTED = 12;

/**
 * The input as its shape has it.
 * @param pointer where the input stands in what was sent, if not at its root
 * @throws Invalid with every fault
 */
export function validated<T extends z.ZodType>(shape: T, input: unknown, pointer = ''): z.output<T> {
  const parsed = shape.safeParse(input, { reportInput: true, error: (issue) => standardWords(issue as Issue) });
  if (!parsed.success) throw new Invalid(parsed.error.issues.flatMap((issue) => faultsIn(issue, shape, pointer)));
  return parsed.data as z.output<T>;
}

function faultsIn(issue: Issue, shape: z.ZodType, root: string): Fault[] {
  const pointer = root + issue.path.map((step) => pointerStep(String(step))).join('');
  // Whatever a shape says of a value that is wrong, of one that is not there there is only this to say.
  if (issue.input === undefined && issue.code === 'invalid_type') return [{ detail: 'is missing', pointer }];
  if (issue.input === undefined && issue.code === 'invalid_value')
    return [{ detail: `is missing; it ${issue.message}`, pointer }];
  if (issue.code !== 'unrecognized_keys') return [{ detail: issue.message, pointer }];
  const fields = fieldsAt(shape, issue.path);
  return issue.keys.map((key) => ({
    detail: `there is no field "${key.slice(0, 60)}"${instead(key, fields)}`,
    pointer: `${pointer}${pointerStep(key.slice(0, 60))}`,
  }));
}

const pointerStep = (name: string): string => `/${name.replaceAll('~', '~0').replaceAll('/', '~1')}`;

/** For what a shape has no words of its own. */
function standardWords(issue: Issue): string | undefined {
  switch (issue.code) {
    case 'invalid_type':
      return `must be ${kinds[issue.expected] ?? `of the kind ${issue.expected}`}`;
    case 'invalid_value':
      return `must be ${issue.values.length === 1 ? '' : 'one of '}${issue.values.map(String).join(', ')}`;
    case 'too_big':
      return bound(
        issue.origin,
        issue.inclusive === false ? 'below' : 'at most',
        issue.exact ? 'exactly' : undefined,
        Number(issue.maximum),
      );
    case 'too_small':
      return bound(
        issue.origin,
        issue.inclusive === false ? 'above' : 'at least',
        issue.exact ? 'exactly' : undefined,
        Number(issue.minimum),
      );
    default:
      return undefined;
  }
}

const kinds: Record<string, string> = {
  string: 'text',
  number: 'a number',
  int: 'a whole number',
  boolean: 'true or false',
  array: 'a list',
  object: 'an object with fields',
};

function bound(origin: string, side: string, exactly: string | undefined, limit: number): string {
  const how = exactly ?? side;
  if (origin === 'array') return `must have ${how} ${limit} ${limit === 1 ? 'entry' : 'entries'}`;
  if (origin === 'string') return `must have ${how} ${limit} ${limit === 1 ? 'character' : 'characters'}`;
  return `must be ${how} ${limit}`;
}

/** The fields of the object that a path leads to. */
function fieldsAt(shape: z.ZodType, path: readonly PropertyKey[]): string[] {
  let at = unwrapSchema(shape).inner;
  for (const step of path) {
    const def = at._zod.def as { shape?: Record<string, z.ZodType>; element?: z.ZodType };
    const next = def.element ?? def.shape?.[String(step)];
    if (!next) return [];
    at = unwrapSchema(next).inner;
  }
  return Object.keys((at._zod.def as { shape?: object }).shape ?? {});
}

/** What may have been meant: a field of nearly that name, else all there are where they are few. */
function instead(key: string, fields: readonly string[]): string {
  const plain = (name: string) => name.toLowerCase().replace(/[^a-z0-9]/g, '');
  const near = fields
    .map((field) => ({
      field,
      steps: plain(field).includes(plain(key)) && plain(key).length > 2 ? 1 : editSteps(plain(field), plain(key)),
    }))
    .filter(({ field, steps }) => steps <= Math.max(1, Math.floor(field.length / 4)))
    .sort((a, b) => a.steps - b.steps)
    .slice(0, 3)
    .map(({ field }) => `"${field}"`);
  if (near.length > 0) return `; there is ${near.join(', ')}`;
  if (fields.length === 0) return '; there are none here';
  return fields.length <= MOST_LISTED ? `; there are ${fields.join(', ')}` : '';
}

/** How many letters must be put in, left out or changed to make one word of another (Levenshtein). */
function editSteps(from: string, to: string): number {
  // What a caller sends may be long; the names it is compared with are not.
  if (Math.abs(from.length - to.length) > 10) return Infinity;
  let row = Array.from({ length: to.length + 1 }, (_, column) => column);
  for (let line = 1; line <= from.length; line += 1) {
    const next = [line];
    for (let column = 1; column <= to.length; column += 1) {
      next.push(
        Math.min(
          elementAt(row, column) + 1,
          elementAt(next, column - 1) + 1,
          elementAt(row, column - 1) + (from[line - 1] === to[column - 1] ? 0 : 1),
        ),
      );
    }
    row = next;
  }
  return elementAt(row, to.length);
}
