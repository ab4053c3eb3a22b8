/** Many of one command in a single call: all of them or none, under one Idempotency-Key. */
import { z } from 'zod';
import { DomainError, type Fault } from '../errors.js';
import { asDomainError } from '../operation/database-errors.js';
import { reasonIn } from '../operation/execute.js';
import { command, type Operation } from '../operation/operation.js';
import { shape, wholeNumber } from '../shapes.js';

const ENTRIES_MOST = 500;

export interface BatchDeclared {
  name: string;
  summary: string;
  /** Below `/v1`. */
  path: string;
}

/**
 * @param operations among them the single one
 * @returns a command that takes `items`, each as the single one takes its input, and answers with as many
 */
export function batchOf(
  operations: readonly Operation[],
  singleName: string,
  { name, summary, path }: BatchDeclared,
): Operation {
  const single = operations.find((one) => one.name === singleName);
  if (!single) throw new Error(`There is no operation ${singleName} to make ${name} of`);
  const Name = name.charAt(0).toUpperCase() + name.slice(1);
  return command({
    name,
    summary,
    roles: single.roles,
    rest: { method: 'POST', path, status: 201 },
    input: z.strictObject({
      items: z
        .array(single.input.meta({ id: `${Name}Entry` }))
        .min(1)
        .max(ENTRIES_MOST)
        .meta({
          description: `What ${single.name} takes, once for each; all are recorded or none. At most ${ENTRIES_MOST}.`,
        }),
    }),
    output: shape(
      `${Name}Reply`,
      { items: z.array(single.output).meta({ description: 'What each entry was answered, in their order.' }) },
      'What a batch was answered.',
    ),
    async run(context, { items }) {
      const answers: unknown[] = [];
      for (const [at, item] of items.entries()) {
        try {
          const answer = await single.run(context, item);
          // One entry each, as if they had come one by one: whoever listens for changes is told which.
          await context.tx.auditEntry.create({
            data: {
              shopId: context.shop.id,
              accessKeyId: context.accessKeyId,
              operation: single.name,
              subjectId: idIn(answer) ?? idIn(item) ?? null,
              reason: reasonIn(item),
            },
          });
          answers.push(answer);
        } catch (error) {
          throw placed(asDomainError(error), at);
        }
      }
      return { items: answers };
    },
  });
}

/** Tells which entry it was; faults of its fields keep their place within it. */
function placed(error: unknown, at: number): unknown {
  if (!(error instanceof DomainError)) return error;
  error.message = `Entry ${at + 1}: ${error.message}`;
  error.extra.item = at;
  const faults = error.extra.errors as Fault[] | undefined;
  if (faults) error.extra.errors = faults.map((fault) => ({ ...fault, pointer: `/items/${at}${fault.pointer}` }));
  return error;
}

/** @returns the shape of a batch's entries; undefined for what is no batch */
export function entriesOf(operation: Operation): z.ZodObject | undefined {
  const { items } = operation.input.shape as { items?: z.ZodArray<z.ZodObject> };
  return operation.kind === 'command' && Object.keys(operation.input.shape).length === 1 ? items?.element : undefined;
}

/** Whether it reads a table for itself, with headings of anybody's: then it may be sent as it is. */
export const takesTable = (operation: Operation): boolean => 'csv' in operation.input.shape;

const idIn = (record: unknown): string | undefined => (record as { id?: string } | null)?.id;

/**
 * The same entries, tried and taken back: what each would be recorded as, and what stands against those that would not.
 * @param operations among them the single one
 */
export function previewOf(
  operations: readonly Operation[],
  singleName: string,
  { name, summary, path }: BatchDeclared,
): Operation {
  const single = operations.find((one) => one.name === singleName);
  if (!single) throw new Error(`There is no operation ${singleName} to make ${name} of`);
  const Name = name.charAt(0).toUpperCase() + name.slice(1);
  const Entry = shape(
    `${Name}Answer`,
    {
      record: single.output.nullable().meta({ description: 'As it would be recorded; null when it would be refused.' }),
      problems: z.array(z.string()),
    },
    'What would become of one entry.',
  );
  return command({
    name,
    summary,
    roles: single.roles,
    rest: { method: 'POST', path, status: 200 },
    creates: false,
    input: z.strictObject({
      items: z
        .array(single.input.meta({ id: `${Name}Entry` }))
        .min(1)
        .max(ENTRIES_MOST)
        .meta({ description: `What ${single.name} takes, once for each. At most ${ENTRIES_MOST}.` }),
    }),
    output: shape(
      `${Name}Reply`,
      {
        accepted: wholeNumber.meta({ scalar: 'Int', description: 'How many would be recorded.' }),
        refused: wholeNumber,
        items: z.array(Entry).meta({ description: 'In the order of the entries.' }),
      },
      'What a batch would do. Nothing is recorded.',
    ),
    async run(context, { items }) {
      const answers: { record: unknown; problems: string[] }[] = [];
      await context.tx.$executeRaw`SAVEPOINT before_preview`;
      for (const item of items) {
        await context.tx.$executeRaw`SAVEPOINT before_entry`;
        try {
          answers.push({ record: await single.run(context, item), problems: [] });
        } catch (error) {
          await context.tx.$executeRaw`ROLLBACK TO SAVEPOINT before_entry`;
          answers.push({ record: null, problems: problemsOf(asDomainError(error)) });
        }
      }
      await context.tx.$executeRaw`ROLLBACK TO SAVEPOINT before_preview`;
      const refused = answers.filter(({ record }) => record === null).length;
      return { accepted: answers.length - refused, refused, items: answers };
    },
  });
}

/** @throws what is no refusal of the entry, such as a database that is away */
function problemsOf(error: unknown): string[] {
  if (!(error instanceof DomainError)) throw error;
  const faults = error.extra.errors as Fault[] | undefined;
  return faults ? faults.map(({ pointer, detail }) => `${pointer.slice(1)}: ${detail}`) : [error.message];
}
