import { Decimal } from 'decimal.js';
import { z } from 'zod';
import type { Joint } from '../engine/fastener/index.js';
import { roundAmount } from '../engine/money/index.js';
import { withCompletionEffects } from '../plan/effects.js';
import type { CompletionEffect } from '../plan/effects.shapes.js';
import { expectedCompletions } from '../plan/forecast.js';
import { chanceReady } from '../plan/season.js';
import { DomainError, Invalid, Refused } from '../platform/errors.js';
import { command, query, workers, type Call, type Presentable } from '../platform/operation/operation.js';
import { id } from '../platform/shapes.js';
import { snowOutlook } from '../season/first-snow.queries.js';
import { readShop } from '../shop/shop.queries.js';
import { noteOnJob } from '../work/jobs.js';
import { taskToWorkOn } from '../work/tasks.js';
import { harvest } from './harvest.operations.js';
import { checkFree } from './needs.operations.js';
import { completeNeeds } from './needs.queries.js';
import { cancelSome, completeLine, lockLine, needOutstanding, placeOrder } from './orders.js';
import { candidatesFor, shortageOf, type Candidate, type Shortage } from './rescue.js';
import { jointFields, Rescue, RescueTake, RescueTaken } from './rescue.shapes.js';
import { figure, lock } from './rows.js';

/** What taking an option needs to be told beside the option itself. */
interface Terms {
  unitPrice?: string | null | undefined;
  shippingCost?: string | null | undefined;
  taxCost?: string | null | undefined;
  promisedDay?: string | null | undefined;
  unitValue?: string | null | undefined;
  restValue?: string | null | undefined;
  bin?: string | null | undefined;
}

/**
 * Makes an option so: the needs get their parts from the bin, the donor or the other supplier. A need that is met in
 * part keeps what it has, and a need of its own stands for the rest.
 * @returns the needs that were helped
 */
async function take(call: Call, shortage: Shortage, option: Candidate, terms: Terms): Promise<string[]> {
  if (option.stockId) await lock(call, 'Stock', [option.stockId]);
  const needIds = await splitNeeds(call, shortage.needs);
  if (option.kind === 'otherSupplier') {
    await placeOrder(call, {
      supplierId: option.supplierId,
      shippingCost: terms.shippingCost ?? '0',
      taxCost: terms.taxCost ?? '0',
      spreadMethod: 'byValue',
      lines: [{ partId: shortage.part.id, quantity: shortage.quantity.toNumber(), unitPrice: terms.unitPrice, promisedDay: terms.promisedDay, partNeedIds: needIds }],
    });
    return needIds;
  }
  const stockId = option.kind === 'donor' ? await takeOffDonor(call, shortage, option, terms) : option.stockId!;
  for (const needId of needIds) {
    const need = await call.tx.partNeed.findFirstOrThrow({ where: { id: needId } });
    // The option was found allowed, by a claim or by the rules for fasteners; what is left to see to is that it is free.
    await checkFree(call, stockId, { ...need, partId: option.partId! }, '/stockId');
    await call.tx.partNeed.update({ where: { id: needId }, data: { stockId, orderLineId: null, version: { increment: 1 } } });
  }
  return needIds;
}

async function splitNeeds(call: Call, needs: readonly Presentable[]): Promise<string[]> {
  await lock(call, 'PartNeed', needs.map((need) => need.id));
  const missing: string[] = [];
  for (const need of needs) {
    if (need.quantityCovered.isZero()) {
      await call.tx.partNeed.update({ where: { id: need.id }, data: { stockId: null, orderLineId: null, version: { increment: 1 } } });
      missing.push(need.id);
      continue;
    }
    await call.tx.partNeed.update({ where: { id: need.id }, data: { quantity: need.quantityCovered.toString(), orderLineId: null, version: { increment: 1 } } });
    const rest = await call.tx.partNeed.create({
      data: { shopId: call.shop.id, taskId: need.taskId, partId: need.partId, quantity: figure(need.quantity).minus(need.quantityCovered).toString() },
    });
    missing.push(rest.id);
  }
  return missing;
}

async function takeOffDonor(call: Call, { part, quantity }: Shortage, option: Candidate, terms: Terms): Promise<string> {
  const { stock } = await harvest(call, {
    machineId: option.machineId,
    restValue: terms.restValue,
    parts: [{ partId: part.id, quantity: quantity.toNumber(), unitValue: terms.unitValue, bin: terms.bin }],
  });
  return stock[0].id;
}

/** Runs work and leaves no trace of it: what would happen, told by what does happen. */
async function whatIf<T>(call: Call, work: () => Promise<T>): Promise<T> {
  await call.tx.$executeRaw`savepoint what_if`;
  try {
    return await work();
  } finally {
    await call.tx.$executeRaw`rollback to savepoint what_if`;
    await call.tx.$executeRaw`release savepoint what_if`;
  }
}

/** @throws Invalid when only one end of the grip range is given, or the ends are the wrong way round */
function jointOf(given: { gripFromMillimetres?: number | null | undefined; gripToMillimetres?: number | null | undefined; exposed?: boolean | null | undefined; jointMaterial?: Joint['material'] | null | undefined }): Joint {
  const { gripFromMillimetres: from, gripToMillimetres: to, exposed, jointMaterial } = given;
  if ((from ?? null) === null !== ((to ?? null) === null)) throw new Invalid([{ detail: 'a grip range has two ends', pointer: (from ?? null) === null ? '/gripFromMillimetres' : '/gripToMillimetres' }]);
  if (typeof from === 'number' && typeof to === 'number' && from > to) throw new Invalid([{ detail: 'must not be less than gripFromMillimetres', pointer: '/gripToMillimetres' }]);
  return {
    ...(typeof from === 'number' && typeof to === 'number' ? { grip: { fromMillimetres: from, toMillimetres: to } } : {}),
    ...(typeof exposed === 'boolean' ? { exposed } : {}),
    ...(jointMaterial ? { material: jointMaterial } : {}),
  };
}

async function rescue(call: Call, orderLineId: string, joint: Joint): Promise<Presentable> {
  const shortage = await shortageOf(call, orderLineId);
  const jobId = shortage.needs[0].task.job.id as string;
  const outlook = await snowOutlook(call);
  const { readinessMarginDays } = await readShop(call);
  const expected = (await expectedCompletions(call)).get(jobId)?.day ?? null;
  const chance = (finish: string | null) => chanceReady(outlook, finish, readinessMarginDays);
  const options: Presentable[] = [];
  for (const candidate of await candidatesFor(call, shortage, joint)) {
    const effects = await tried(call, shortage, candidate);
    const effect = effects.find((one) => one.jobId === jobId);
    options.push({ ...candidate, effects, chanceReadyBefore: chance(expected), chanceReadyAfter: chance(effect ? effect.after : expected), days: Decimal.sum(0, ...effects.map((one) => one.days ?? 0)).toNumber() });
  }
  return { orderLineId, quantityMissing: shortage.quantity, needs: shortage.needs, options: options.sort(byRank) };
}

/** What taking an option would do to completion. One that turns out impossible is refused with its reason. */
async function tried(call: Call, shortage: Shortage, option: Candidate): Promise<CompletionEffect[]> {
  if (!option.allowed || option.kind === 'wait') return [];
  try {
    return await whatIf(call, async () => (await withCompletionEffects(call, () => take(call, shortage, option, likelyTerms(call, shortage, option)))).effects);
  } catch (error) {
    if (!(error instanceof DomainError)) throw error;
    option.allowed = false;
    option.why.push(error.message);
    return [];
  }
}

/** For trying out: the last price, and a donor on which the part and the rest are worth the same. */
const likelyTerms = (call: Call, { line, quantity }: Shortage, { cost }: Candidate): Terms => ({
  unitPrice: roundAmount(cost ? cost.div(quantity) : figure(line.unitPrice), call.shop.currency).toString(),
  unitValue: '1',
  restValue: '1',
  bin: '?',
});

/** Allowed before refused; then what finishes the jobs soonest, then what arrives soonest, then what costs least. */
function byRank(a: Presentable, b: Presentable): number {
  return (
    Number(b.allowed) - Number(a.allowed) ||
    a.days - b.days ||
    (a.arrivalDay ?? '9').localeCompare(b.arrivalDay ?? '9') ||
    (a.cost?.toNumber() ?? Infinity) - (b.cost?.toNumber() ?? Infinity) ||
    0
  );
}

async function takeRescue(call: Call, input: z.output<typeof RescueTake>): Promise<Presentable> {
  const locked = await lockLine(call, input.orderLineId);
  const shortage = await shortageOf(call, input.orderLineId);
  checkTerms(input);
  const option = (await candidatesFor(call, shortage, jointOf(input))).find(
    (one) => one.kind === input.kind && (one.stockId ?? one.machineId ?? one.supplierId) === (input.stockId ?? input.machineId ?? input.supplierId),
  );
  if (!option) throw new Refused('no-such-option', 'That is not among the ways out of this line; read them again.');
  if (!option.allowed) throw new Refused('option-refused', option.why.join(' '));
  const needIds = await take(call, shortage, option, input);
  if (input.cancelRest) await cancelSome(call, locked, needOutstanding(locked));
  const jobs = new Map<string, Presentable>();
  for (const need of shortage.needs) {
    const { job } = await taskToWorkOn(call, need.taskId);
    jobs.set(job.id, job);
  }
  for (const job of jobs.values()) {
    await noteOnJob(call, job, `${shortage.quantity} × ${shortage.part.name} did not come: ${noteFor[input.kind]}. ${option.why.join(' ')}`);
  }
  return { line: await completeLine(call, input.orderLineId), needs: await completeNeeds(call, await call.tx.partNeed.findMany({ where: { id: { in: needIds } } })) };
}

const noteFor: Record<z.output<typeof RescueTake>['kind'], string> = {
  stock: 'taken from a bin',
  interchange: 'another part that serves is taken from a bin',
  equivalentFastener: 'an equivalent fastener is taken from a bin',
  donor: 'taken off a donor machine',
  otherSupplier: 'ordered from another supplier',
};

/** What each kind must be told. */
const termsOf: Record<z.output<typeof RescueTake>['kind'], (keyof z.output<typeof RescueTake>)[]> = {
  stock: ['stockId'],
  interchange: ['stockId'],
  equivalentFastener: ['stockId'],
  donor: ['machineId', 'unitValue', 'restValue', 'bin'],
  otherSupplier: ['supplierId', 'unitPrice'],
};

function checkTerms(input: z.output<typeof RescueTake>): void {
  const wanted = termsOf[input.kind];
  const faults = [
    ...wanted.filter((key) => !input[key]).map((key) => ({ detail: 'is needed for this option', pointer: `/${key}` })),
    ...(['stockId', 'machineId', 'supplierId'] as const).filter((key) => input[key] && !wanted.includes(key)).map((key) => ({ detail: 'does not belong to this option', pointer: `/${key}` })),
  ];
  if (faults.length > 0) throw new Invalid(faults);
}

export const rescueOperations = [
  query({
    name: 'rescue',
    summary: 'What can be done for the tasks that wait for an order line, the best first',
    roles: workers,
    rest: { method: 'GET', path: '/order-lines/:orderLineId/rescue' },
    input: z.strictObject({ orderLineId: id, ...jointFields }),
    output: Rescue,
    run: (call, input) => rescue(call, input.orderLineId, jointOf(input)),
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
