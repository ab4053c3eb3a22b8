import { z } from 'zod';
import type { Joint } from '../../engine/fastener/index.js';
import { withCompletionEffects } from '../../platform/completion/completion-effects.js';
import { Invalid, Refused } from '../../platform/errors.js';
import { command, type OperationContext, query, workers } from '../../platform/operation/operation.js';
import type { Stored } from '../../platform/operation/stored.js';
import { id } from '../../platform/shapes.js';
import { completeNeeds } from '../../purchasing/needs.queries.js';
import { cancelSome, completeLine, lockLine, requireOutstanding } from '../../purchasing/orders.js';
import { noteOnJob } from '../../work/jobs.js';
import { taskToWorkOn } from '../../work/tasks.js';
import { candidatesFor, shortageOf, type Wanted } from './candidates.js';
import { shortageOptions } from './rank-options.js';
import { take } from './resolve.js';
import { jointFields, reworkFields, ShortageOptions, ShortageResolve, ShortageResolved } from './shortage.shapes.js';

/** @throws Invalid when only one end of the grip range is given, or the ends are the wrong way round */
function jointOf(given: {
  gripFromMillimetres?: number | null | undefined;
  gripToMillimetres?: number | null | undefined;
  exposed?: boolean | null | undefined;
  jointMaterial?: Joint['material'] | null | undefined;
}): Joint {
  const { gripFromMillimetres: from, gripToMillimetres: to, exposed, jointMaterial } = given;
  if (((from ?? null) === null) !== ((to ?? null) === null))
    throw new Invalid([
      {
        detail: 'a grip range has two ends',
        pointer: (from ?? null) === null ? '/gripFromMillimetres' : '/gripToMillimetres',
      },
    ]);
  if (typeof from === 'number' && typeof to === 'number' && from > to)
    throw new Invalid([{ detail: 'must not be less than gripFromMillimetres', pointer: '/gripToMillimetres' }]);
  return {
    ...(typeof from === 'number' && typeof to === 'number'
      ? { grip: { fromMillimetres: from, toMillimetres: to } }
      : {}),
    ...(typeof exposed === 'boolean' ? { exposed } : {}),
    ...(jointMaterial ? { material: jointMaterial } : {}),
  };
}

const wantedOf = (given: Parameters<typeof jointOf>[0] & Omit<Wanted, 'joint'>): Wanted => ({
  joint: jointOf(given),
  reworkMinutes: given.reworkMinutes,
  reworkCost: given.reworkCost,
});

async function resolveShortage(context: OperationContext, input: z.output<typeof ShortageResolve>) {
  const locked = await lockLine(context, input.id);
  const shortage = await shortageOf(context, input.id);
  checkTerms(input);
  const option = (await candidatesFor(context, shortage, wantedOf(input))).find(
    (one) =>
      one.kind === input.kind &&
      (one.stockId ?? one.machineId ?? one.supplierId) ===
        (input.stockId ?? input.machineId ?? input.supplierId ?? null),
  );
  if (!option) throw new Refused('no-such-option', 'That is not among the ways out of this line; read them again.');
  if (!option.allowed) throw new Refused('option-refused', option.reasons.join(' '));
  const { needIds } = await take(context, shortage, option, input);
  if (input.cancelRest) await cancelSome(context, locked, requireOutstanding(locked));
  const jobs = new Map<string, Stored<'job'>>();
  for (const need of shortage.needs) {
    const { job } = await taskToWorkOn(context, need.taskId);
    jobs.set(job.id, job);
  }
  for (const job of jobs.values()) {
    await noteOnJob(
      context,
      job,
      `${shortage.quantity} × ${shortage.part.name} did not come: ${noteFor[input.kind]}. ${option.reasons.join(' ')}`,
    );
  }
  return {
    line: await completeLine(context, input.id),
    needs: await completeNeeds(context, await context.tx.partNeed.findMany({ where: { id: { in: needIds } } })),
  };
}

const noteFor: Record<z.output<typeof ShortageResolve>['kind'], string> = {
  stock: 'taken from a bin',
  interchange: 'another part that serves is taken from a bin',
  equivalentFastener: 'an equivalent fastener is taken from a bin',
  donor: 'taken off a donor machine',
  otherSupplier: 'ordered from another supplier',
  rework: 'made or repaired here',
};

/** What each kind must be told. */
const termsOf: Record<z.output<typeof ShortageResolve>['kind'], (keyof z.output<typeof ShortageResolve>)[]> = {
  stock: ['stockId'],
  interchange: ['stockId'],
  equivalentFastener: ['stockId'],
  donor: ['machineId', 'unitValue', 'restValue', 'bin'],
  otherSupplier: ['supplierId', 'unitPrice'],
  rework: ['reworkMinutes'],
};

function checkTerms(input: z.output<typeof ShortageResolve>): void {
  const wanted = termsOf[input.kind];
  const validationErrors = [
    ...wanted.filter((key) => !input[key]).map((key) => ({ detail: 'is needed for this option', pointer: `/${key}` })),
    ...(['stockId', 'machineId', 'supplierId'] as const)
      .filter((key) => input[key] && !wanted.includes(key))
      .map((key) => ({ detail: 'does not belong to this option', pointer: `/${key}` })),
  ];
  if (validationErrors.length > 0) throw new Invalid(validationErrors);
}

export const shortageOperations = [
  query({
    name: 'shortageOptions',
    slow: true,
    summary: 'What can be done for the tasks that wait for an order line, the best first',
    roles: workers,
    rest: { method: 'GET', path: '/order-lines/:id/shortage-options' },
    input: z.strictObject({ id, ...jointFields, ...reworkFields }),
    output: ShortageOptions,
    run: (context, input) => shortageOptions(context, input.id, wantedOf(input)),
  }),
  command({
    name: 'resolveShortage',
    summary: 'Take one of the ways out: reserve, harvest or reorder, cancel, and note it on the job, all or nothing',
    rest: { method: 'POST', path: '/order-lines/:id/shortage-options', status: 201 },
    input: ShortageResolve,
    output: ShortageResolved,
    async run(context, input) {
      const { result, effects } = await withCompletionEffects(context, () => resolveShortage(context, input));
      return { id: input.id, ...result, effects };
    },
  }),
];
