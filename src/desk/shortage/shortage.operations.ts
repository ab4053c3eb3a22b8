import { z } from 'zod';
import type { Joint } from '../../engine/fastener/index.js';
import { withCompletionEffects } from '../../platform/completion/completion-effects.js';
import { Invalid, Refused } from '../../platform/errors.js';
import { type Call, command, type Presentable, query, workers } from '../../platform/operation/operation.js';
import { id } from '../../platform/shapes.js';
import { noteOnJob } from '../../work/jobs.js';
import { taskToWorkOn } from '../../work/tasks.js';
import { completeNeeds } from '../../purchasing/needs.queries.js';
import { cancelSome, completeLine, lockLine, needOutstanding } from '../../purchasing/orders.js';
import { candidatesFor, shortageOf, type Wanted } from './candidates.js';
import { jointFields, Rescue, RescueTake, RescueTaken, reworkFields } from './shortage.shapes.js';
import { rescue } from './rank-options.js';
import { take } from './resolve.js';

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

async function takeRescue(call: Call, input: z.output<typeof RescueTake>): Promise<Presentable> {
  const locked = await lockLine(call, input.orderLineId);
  const shortage = await shortageOf(call, input.orderLineId);
  checkTerms(input);
  const option = (await candidatesFor(call, shortage, wantedOf(input))).find(
    (one) =>
      one.kind === input.kind &&
      (one.stockId ?? one.machineId ?? one.supplierId) ===
        (input.stockId ?? input.machineId ?? input.supplierId ?? null),
  );
  if (!option) throw new Refused('no-such-option', 'That is not among the ways out of this line; read them again.');
  if (!option.allowed) throw new Refused('option-refused', option.why.join(' '));
  const { needIds } = await take(call, shortage, option, input);
  if (input.cancelRest) await cancelSome(call, locked, needOutstanding(locked));
  const jobs = new Map<string, Presentable>();
  for (const need of shortage.needs) {
    const { job } = await taskToWorkOn(call, need.taskId);
    jobs.set(job.id, job);
  }
  for (const job of jobs.values()) {
    await noteOnJob(
      call,
      job,
      `${shortage.quantity} × ${shortage.part.name} did not come: ${noteFor[input.kind]}. ${option.why.join(' ')}`,
    );
  }
  return {
    line: await completeLine(call, input.orderLineId),
    needs: await completeNeeds(call, await call.tx.partNeed.findMany({ where: { id: { in: needIds } } })),
  };
}

const noteFor: Record<z.output<typeof RescueTake>['kind'], string> = {
  stock: 'taken from a bin',
  interchange: 'another part that serves is taken from a bin',
  equivalentFastener: 'an equivalent fastener is taken from a bin',
  donor: 'taken off a donor machine',
  otherSupplier: 'ordered from another supplier',
  rework: 'made or repaired here',
};

/** What each kind must be told. */
const termsOf: Record<z.output<typeof RescueTake>['kind'], (keyof z.output<typeof RescueTake>)[]> = {
  stock: ['stockId'],
  interchange: ['stockId'],
  equivalentFastener: ['stockId'],
  donor: ['machineId', 'unitValue', 'restValue', 'bin'],
  otherSupplier: ['supplierId', 'unitPrice'],
  rework: ['reworkMinutes'],
};

function checkTerms(input: z.output<typeof RescueTake>): void {
  const wanted = termsOf[input.kind];
  const faults = [
    ...wanted.filter((key) => !input[key]).map((key) => ({ detail: 'is needed for this option', pointer: `/${key}` })),
    ...(['stockId', 'machineId', 'supplierId'] as const)
      .filter((key) => input[key] && !wanted.includes(key))
      .map((key) => ({ detail: 'does not belong to this option', pointer: `/${key}` })),
  ];
  if (faults.length > 0) throw new Invalid(faults);
}

export const rescueOperations = [
  query({
    name: 'rescue',
    slow: true,
    summary: 'What can be done for the tasks that wait for an order line, the best first',
    roles: workers,
    rest: { method: 'GET', path: '/order-lines/:orderLineId/rescue' },
    input: z.strictObject({ orderLineId: id, ...jointFields, ...reworkFields }),
    output: Rescue,
    run: (call, input) => rescue(call, input.orderLineId, wantedOf(input)),
  }),
  command({
    name: 'takeRescue',
    summary: 'Take one of the ways out: reserve, harvest or reorder, cancel, and note it on the job, all or nothing',
    rest: { method: 'POST', path: '/order-lines/:orderLineId/rescue', status: 201 },
    input: RescueTake,
    output: RescueTaken,
    async run(call, input) {
      const { result, effects } = await withCompletionEffects(call, () => takeRescue(call, input));
      return { id: input.orderLineId, ...result, effects };
    },
  }),
];
