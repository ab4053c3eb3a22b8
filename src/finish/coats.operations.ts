/** Applied coats and what thermometers showed where they stood. */
import { z } from 'zod';
import { filmWarnings, type FinishWarning } from '../engine/cure/index.js';
import { at, lookUp } from '../engine/look-up.js';
import { decidePaint } from '../engine/weather/index.js';
import { Conflict, Invalid } from '../platform/errors.js';
import { asColumns } from '../platform/operation/columns.js';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, type OperationContext, workers } from '../platform/operation/operation.js';
import { findOne } from '../platform/operation/stored.js';
import { id, text } from '../platform/shapes.js';
import { lockJob } from '../work/jobs.js';
import { coatEventOperations } from './coat-events.operations.js';
import { placeByTime, requirePlace } from './coat-order.js';
import { coatBeneath, coatsOfJobs, type CoatWithProduct, warningsFor } from './coat-warnings.js';
import { statusesOf } from './curing.queries.js';
import {
  Coat,
  CoatChange,
  CoatCreate,
  ReadingInput,
  ReadingsRecorded,
  RecordedCoat,
  TemperatureReading,
} from './finish.shapes.js';
import { chargePaint, litresOf, unchargePaint } from './paint-used.js';
import { surfaceKey, surfaceOnJob } from './surfaces.js';

/**
 * Holds the coat's job, so that coats on it are numbered one at a time. A closed one may have them, as it may have ledger
 * entries: paint is written down late.
 * @throws NotFound; Conflict `archived`
 */
async function holdJob(context: OperationContext, jobId: string): Promise<void> {
  const job = await lockJob(context, jobId);
  if (job.archivedAt) throw new Conflict('archived', 'This job was archived and is only kept for history.');
}

/** The other references a coat carries, each told apart when it is missing. */
async function checkReferences(
  context: OperationContext,
  coat: Partial<Record<'jobId' | 'productId' | 'placeId' | 'taskId', string | null>>,
): Promise<void> {
  if (coat.productId) await findOne(context.tx.coatingProduct, 'coating product', coat.productId);
  if (coat.placeId) await findOne(context.tx.place, 'place', coat.placeId);
  if (coat.taskId) {
    const task = await findOne(context.tx.task, 'task', coat.taskId);
    if (task.jobId !== coat.jobId) throw new Invalid([{ detail: 'is a task of another job', pointer: '/taskId' }]);
  }
}

function checkMoment(context: OperationContext, appliedAt: string | Date): void {
  if (new Date(appliedAt) > context.now)
    throw new Invalid([{ detail: 'lies in the future; a coat is recorded once it is on', pointer: '/appliedAt' }]);
}

/** What speaks against the coat: its conditions and film, what lies beneath and above, and whether that was ready for it. */
async function recoatWarnings(
  context: OperationContext,
  coat: CoatWithProduct,
  coats: CoatWithProduct[],
): Promise<FinishWarning[]> {
  const film = filmWarnings(
    Number(coat.product.dryFilmMicrometres),
    coat.dryFilmMicrometres === null ? null : Number(coat.dryFilmMicrometres),
  );
  const above = coats.find((other) => coatBeneath(other, coats)?.id === coat.id);
  return [
    ...warningsFor(coat, coats),
    ...film,
    ...(await tooSoonOrLate(context, coat, coats)),
    ...(above ? await tooSoonOrLate(context, above, coats) : []),
  ];
}

async function tooSoonOrLate(
  context: OperationContext,
  coat: CoatWithProduct,
  coats: CoatWithProduct[],
): Promise<FinishWarning[]> {
  const beneath = coatBeneath(coat, coats);
  if (!beneath || beneath.appliedAt >= coat.appliedAt) return [];
  const status = at(await statusesOf({ ...context, now: coat.appliedAt }, [beneath]), 0);
  if (status.recoat.allowedNow) return [];
  return [
    {
      code: 'recoat-not-allowed',
      detail:
        `Coat ${beneath.coatNumber}, ${beneath.product.name}, was not to be coated ` +
        `when coat ${coat.coatNumber} went on. ${status.recoat.reason}`,
    },
  ];
}

/** The litres of a coat by its area, whatever is stated; null without an area. */
async function computedLitres(
  context: OperationContext,
  coat: Parameters<typeof litresOf>[0] & { productId: string },
): Promise<string | null> {
  const product = await findOne(context.tx.coatingProduct, 'coating product', coat.productId);
  return litresOf({ ...coat, litresUsed: null }, product)?.toString() ?? null;
}

export const recordCoat = command({
  name: 'createCoat',
  summary: 'Record a coat that was applied; the answer warns of what speaks against it',
  roles: workers,
  rest: { method: 'POST', path: '/coats', status: 201 },
  input: CoatCreate,
  output: RecordedCoat,
  async run(context, input) {
    await holdJob(context, input.jobId);
    await checkReferences(context, input);
    const appliedAt = input.appliedAt ?? context.now.toISOString();
    checkMoment(context, appliedAt);
    const surface = await surfaceOnJob(context, input.jobId, input.surface);
    const place = { jobId: input.jobId, surface, appliedAt: new Date(appliedAt) };
    if (input.coatNumber) await requirePlace(context, place, input.coatNumber);
    const coatNumber = input.coatNumber ?? (await placeByTime(context, place));
    const litresUsed =
      litresOf(input, await findOne(context.tx.coatingProduct, 'coating product', input.productId))?.toString() ?? null;
    const { id: coatId } = await context.tx.coat.create({
      data: { shopId: context.shop.id, ...asColumns(CoatCreate, input), surface, appliedAt, coatNumber, litresUsed },
    });
    const coats = await coatsOfJobs(context, [input.jobId]);
    const coat = lookUp(new Map(coats.map((one) => [one.id, one])), coatId);
    await chargePaint(context, coat);
    return { ...coat, warnings: await recoatWarnings(context, coat, coats) };
  },
});

const coatRecords = crudOperations({
  name: 'coat',
  plural: 'coats',
  table: 'coat',
  shape: Coat,
  create: CoatCreate,
  change: CoatChange,
  writers: workers,
  filters: { jobId: id.nullish(), productId: id.nullish(), placeId: id.nullish(), surface: text(80).nullish() },
  sorts: ['appliedAt', 'createdAt'],
  async onChange(context, before, columns) {
    await holdJob(context, before.jobId);
    await checkReferences(context, { ...columns, jobId: before.jobId });
    if (columns.appliedAt) checkMoment(context, columns.appliedAt);
    if (columns.surface !== undefined && surfaceKey(columns.surface) !== surfaceKey(before.surface))
      columns.surface = await surfaceOnJob(context, before.jobId, columns.surface);
    const after = { ...before, ...columns };
    const moved =
      after.surface !== before.surface ||
      after.coatNumber !== before.coatNumber ||
      Number(new Date(after.appliedAt)) !== Number(before.appliedAt);
    if (moved) await requirePlace(context, { ...after, appliedAt: new Date(after.appliedAt) }, after.coatNumber);
    if (columns.litresUsed !== undefined) return columns;
    // A new area makes other litres; what was computed from the area is computed anew by the can and film as they are now.
    const wereReckoned = String(before.litresUsed) === String(await computedLitres(context, before));
    return columns.squareMetres != null || wereReckoned
      ? { ...columns, litresUsed: await computedLitres(context, after) }
      : columns;
  },
  async afterChange(context, before, after) {
    if (String(before.litresUsed) === String(after.litresUsed) && before.productId === after.productId) return;
    await unchargePaint(context, after.id, 'the coat was corrected');
    await chargePaint(context, {
      ...after,
      product: await findOne(context.tx.coatingProduct, 'coating product', after.productId),
    });
  },
  async onArchive(context, before) {
    await unchargePaint(context, before.id, 'the coat was taken back');
  },
});

/** A log of a week of a damp shed needs no thousand warnings. */
const MOST_WARNINGS = 20;

/** Metal too near the dew point, by the usual margin: which can is meant is not known yet. */
function metalWarnings({
  readAt,
  celsius,
  humidityPercent,
  metalCelsius,
}: z.output<typeof ReadingInput>): FinishWarning[] {
  if (metalCelsius == null || humidityPercent == null || humidityPercent <= 0) return [];
  return decidePaint({ airCelsius: celsius, humidityPercent, metalCelsius })
    .refusals.filter(({ code }) => code === 'too-near-dew-point')
    .map(({ code, detail }) => ({ code, detail: `At ${readAt} ${detail}.` }));
}

const readings = [
  ...crudOperations({
    name: 'temperatureReading',
    plural: 'temperatureReadings',
    table: 'temperatureReading',
    shape: TemperatureReading,
    archives: false,
    filters: { placeId: id.nullish() },
    sorts: ['readAt', 'createdAt'],
    standardSort: '-readAt',
  }),
  command({
    name: 'recordTemperatures',
    summary: 'Record what a thermometer showed at a place; a reading of the same moment is replaced',
    roles: workers,
    rest: { method: 'POST', path: '/places/:id/temperature-readings', status: 200 },
    creates: false,
    input: z.strictObject({ id, readings: z.array(ReadingInput).min(1).max(5000) }),
    output: ReadingsRecorded,
    async run(context, { id: placeId, readings: given }) {
      await findOne(context.tx.place, 'place', placeId);
      const byMoment = new Map(given.map((one) => [new Date(one.readAt).toISOString(), one]));
      if (byMoment.size < given.length)
        throw new Invalid([{ detail: 'two readings are of the same moment', pointer: '/readings' }]);
      const moments = [...byMoment.keys()];
      const celsius = [...byMoment.values()].map((one) => String(one.celsius));
      const humidity = [...byMoment.values()].map((one) =>
        one.humidityPercent === null || one.humidityPercent === undefined ? null : String(one.humidityPercent),
      );
      const metal = [...byMoment.values()].map((one) =>
        one.metalCelsius === null || one.metalCelsius === undefined ? null : String(one.metalCelsius),
      );
      const rows = await context.tx.$queryRaw<{ added: number; changed: number }[]>`
        WITH written AS (
          INSERT INTO "TemperatureReading" AS old (id, "shopId", "placeId", "readAt", celsius, "humidityPercent", "metalCelsius")
          SELECT gen_random_uuid(), ${context.shop.id}::uuid, ${placeId}::uuid, one.*
          FROM unnest(${moments}::text[]::timestamptz[], ${celsius}::text[]::numeric[], ${humidity}::text[]::numeric[],
            ${metal}::text[]::numeric[]) AS one
          ON CONFLICT ("shopId", "placeId", "readAt") DO UPDATE SET (celsius, "humidityPercent", "metalCelsius") =
            (excluded.celsius, excluded."humidityPercent", excluded."metalCelsius")
          WHERE (old.celsius, old."humidityPercent", old."metalCelsius") IS DISTINCT FROM
            (excluded.celsius, excluded."humidityPercent", excluded."metalCelsius")
          RETURNING (xmax = 0) AS is_new
        )
        SELECT count(*) FILTER (WHERE is_new)::int AS added, count(*) FILTER (WHERE NOT is_new)::int AS changed FROM written`;
      return {
        placeId,
        received: given.length,
        ...at(rows, 0),
        warnings: [...byMoment.values()].flatMap(metalWarnings).slice(0, MOST_WARNINGS),
      };
    },
  }),
];

export const coatOperations = [
  ...coatEventOperations,
  recordCoat,
  ...coatRecords.filter((operation) => operation.name !== recordCoat.name),
  ...readings,
];
