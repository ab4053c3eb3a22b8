/** What has changed in a shop, in the order of the commits: which records, by which operation; never their contents. */
import { z } from 'zod';
import { everyone, type Operation, type OperationContext, query } from '../operation/operation.js';
import { id, instant, int, nameOf, shape, text, wholeNumber } from '../shapes.js';

const CHANGES_MOST = 500;

export const Change = shape(
  'Change',
  {
    sequence: wholeNumber.meta({
      scalar: 'Int',
      description: 'Counts up in the order of the commits; gaps mean nothing.',
    }),
    operation: text(60).meta({
      description: 'The operation that changed it, by its name in both APIs; `plan` for a new plan.',
    }),
    kind: text(60).meta({ description: 'What was changed, by the name of its shape, such as `Task`.' }),
    subjectId: id.nullable().meta({ scalar: 'ID', description: 'Which one; null where it is no single record.' }),
    at: instant.meta({ scalar: 'Instant', description: 'When.' }),
  },
  'That something has changed: what and which one, for whoever shows it to read it anew.',
);
export type ChangeRow = z.input<typeof Change>;

const ChangesRead = shape(
  'ChangesRead',
  {
    items: z.array(Change).meta({ description: 'The changes, oldest first.' }),
    last: wholeNumber.meta({
      scalar: 'Int',
      description: 'Where to go on from: the highest sequence read, or of all where nothing is newer.',
    }),
    more: z.boolean().meta({ description: 'Whether more have been made than were given.' }),
  },
  'Changes after a point.',
);

/** @returns the name of what each operation changes */
export function kindsOf(operations: readonly Operation[]): ReadonlyMap<string, string> {
  const kinds = new Map(
    operations
      .filter((one) => one.kind === 'command')
      .map((one) => [one.name, nameOf(one.output) ?? one.name] as const),
  );
  return kinds.set(PLANNED, 'Plan');
}
/** What the planner notes of a plan it has stored. */
export const PLANNED = 'plan';

let kinds: ReadonlyMap<string, string> = new Map();
/** To be told once, where the areas are put together. */
export function nameKinds(operations: readonly Operation[]): void {
  kinds = kindsOf(operations);
}

/** The changes after a sequence, oldest first, at most so many. */
export async function changesAfter(
  context: Pick<OperationContext, 'tx'>,
  after: number,
  most = CHANGES_MOST,
): Promise<{ items: ChangeRow[]; last: number; more: boolean }> {
  const rows = await context.tx.auditEntry.findMany({
    where: { sequence: { gt: after } },
    orderBy: { sequence: 'asc' },
    take: most + 1,
    select: { sequence: true, operation: true, subjectId: true, createdAt: true },
  });
  const items = rows.slice(0, most).map(({ sequence, operation, subjectId, createdAt }) => ({
    sequence: Number(sequence),
    operation,
    kind: kinds.get(operation) ?? operation,
    subjectId,
    at: createdAt.toISOString(),
  }));
  return { items, last: items.at(-1)?.sequence ?? after, more: rows.length > most };
}

export async function lastChange(context: Pick<OperationContext, 'tx'>): Promise<number> {
  const last = await context.tx.auditEntry.findFirst({ orderBy: { sequence: 'desc' }, select: { sequence: true } });
  return Number(last?.sequence ?? 0);
}

export const changesQuery = query({
  name: 'changes',
  summary: 'What has changed since a point: which records, by which operation',
  roles: everyone,
  rest: { method: 'GET', path: '/changes' },
  input: z.strictObject({
    after: int(0, 2_000_000_000).nullish().meta({
      scalar: 'Int',
      description: 'The `last` of an earlier answer; left out, nothing but where to go on from.',
    }),
    first: int(1, CHANGES_MOST).default(100).meta({ scalar: 'Int', description: 'How many at most.' }),
  }),
  output: ChangesRead,
  run: async (context, { after, first }) =>
    after === null || after === undefined
      ? { items: [], last: await lastChange(context), more: false }
      : changesAfter(context, after, first),
});
