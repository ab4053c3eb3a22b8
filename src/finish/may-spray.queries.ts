/**
 * May I spray here now: asked before the coat, from what was measured and what is on record. The same limits judge a coat once
 * it is recorded, and the same rules of air and age judge the start of its task.
 */
import { z } from 'zod';
import { type FinishWarning, layerWarnings } from '../engine/cure/index.js';
import { at } from '../engine/look-up.js';
import { decidePaint, dewPointCelsius } from '../engine/weather/index.js';
import { type OperationContext, query } from '../platform/operation/operation.js';
import { findOne, type Stored } from '../platform/operation/stored.js';
import { decimal, id, text } from '../platform/shapes.js';
import { productLimits } from '../season/paint-settings.js';
import { asLayer, coatsOfJobs, conditionCodes } from './coat-warnings.js';
import { statusesOf } from './curing.queries.js';
import { SprayDecision } from './finish.shapes.js';
import { airHindrance } from './may-start.queries.js';
import { cautionsOf } from './paint-needed.js';
import { surfaceKey } from './surfaces.js';

/** A thermometer read longer ago tells of another air. */
const READING_MINUTES = 60;
const NO_TASK = '00000000-0000-0000-0000-000000000000';

const SprayQuestion = z.strictObject({
  placeId: id.nullish().meta({ scalar: 'ID', description: "Where; the shop's spray area unless said, if it has one." }),
  productId: id.nullish().meta({ scalar: 'ID', description: 'Which can.' }),
  airCelsius: decimal(-60, 70).nullish(),
  humidityPercent: decimal(0.1, 100).nullish(),
  metalCelsius: decimal(-60, 150).nullish(),
  jobId: id.nullish().meta({ scalar: 'ID', description: 'With a surface: the coat it goes on must be open for it.' }),
  surface: text(80).nullish(),
});
type Question = z.output<typeof SprayQuestion>;

const fields = ['placeId', 'productId', 'airCelsius', 'humidityPercent', 'metalCelsius'] as const;
const missingWords: Record<(typeof fields)[number], string> = {
  placeId: 'the place',
  productId: 'the can',
  airCelsius: "the air's temperature",
  humidityPercent: 'the humidity',
  metalCelsius: "the metal's temperature",
};

async function sprayDecision(context: OperationContext, question: Question) {
  const place = await placeOf(context, question.placeId);
  const product = question.productId
    ? await findOne(context.tx.coatingProduct, 'coating product', question.productId)
    : null;
  const { readAt, ...measured } = await measuredAt(context, question, place?.id ?? null);
  const known = { placeId: place?.id ?? null, productId: product?.id ?? null, ...measured };
  const missing = fields.filter((field) => known[field] === null);
  const { airCelsius, humidityPercent, metalCelsius } = measured;
  const dew = airCelsius === null || humidityPercent === null ? null : dewPointCelsius(airCelsius, humidityPercent);
  const beneath = await coatBelow(context, question, product);
  const refusals = [
    ...(await conditionRefusals(context, measured, product)),
    ...(place ? await airRefusals(context, place) : []),
    ...beneath.refusals,
  ];
  const allowed = refusals.length > 0 ? false : missing.length > 0 ? null : true;
  return {
    ...known,
    allowed,
    answer: answerOf(refusals, missing),
    missing,
    refusals,
    warnings: beneath.warnings,
    readAt,
    dewPointCelsius: tenth(dew),
    marginCelsius: dew === null || metalCelsius === null ? null : tenth(metalCelsius - dew),
    cautions: cautionsOf(product ? [product] : []),
    reasons: reasonsOf(known, place, product, readAt),
  };
}

async function placeOf(context: OperationContext, placeId?: string | null): Promise<Stored<'place'> | null> {
  if (placeId) return findOne(context.tx.place, 'place', placeId);
  const sprayAreas = await context.tx.place.findMany({ where: { kind: 'sprayArea', archivedAt: null } });
  return sprayAreas.length === 1 ? at(sprayAreas, 0) : null;
}

/** As given; what was not is taken from the place's last reading, where that is fresh. */
async function measuredAt(context: OperationContext, question: Question, placeId: string | null) {
  const given = {
    airCelsius: question.airCelsius ?? null,
    humidityPercent: question.humidityPercent ?? null,
    metalCelsius: question.metalCelsius ?? null,
  };
  if (placeId === null || !Object.values(given).includes(null)) return { ...given, readAt: null };
  const reading = await context.tx.temperatureReading.findFirst({
    where: { placeId, readAt: { gte: new Date(context.now.getTime() - READING_MINUTES * 60_000), lte: context.now } },
    orderBy: { readAt: 'desc' },
  });
  if (!reading) return { ...given, readAt: null };
  const number = (value: unknown): number | null => (value === null ? null : Number(value));
  return {
    airCelsius: given.airCelsius ?? number(reading.celsius),
    humidityPercent: given.humidityPercent ?? number(reading.humidityPercent),
    metalCelsius: given.metalCelsius ?? number(reading.metalCelsius),
    readAt: reading.readAt,
  };
}

/** What is known against the can's limits, or the common ones; what is not known says nothing. */
async function conditionRefusals(
  context: OperationContext,
  measured: { airCelsius: number | null; humidityPercent: number | null; metalCelsius: number | null },
  product: Stored<'coatingProduct'> | null,
): Promise<FinishWarning[]> {
  const { airCelsius, humidityPercent, metalCelsius } = measured;
  const air = airCelsius ?? metalCelsius;
  if (air === null) return [];
  const { refusals } = decidePaint(
    // Dry air hides no other limit, and metal as warm as the air is the best that can be hoped for.
    { airCelsius: air, humidityPercent: (airCelsius === null ? null : humidityPercent) ?? 1, metalCelsius },
    await productLimits(context, product?.id),
  );
  return refusals
    .map(({ code, detail }) => ({ code: conditionCodes[code], detail: sentence(detail) }))
    .filter((one, index, all) => all.findIndex((other) => other.code === one.code) === index);
}

/** Nothing is sprayed beside sparks, flame or dust in the same room. */
async function airRefusals(context: OperationContext, place: Stored<'place'>): Promise<FinishWarning[]> {
  const hindrance = await airHindrance(
    context,
    {
      id: NO_TASK,
      name: 'Spraying',
      kind: 'prime',
      cautions: [],
      needsPaintWeather: true,
      placeKind: place.kind,
      people: 1,
      handsOnMinutes: 1,
    },
    context.now,
    place,
  );
  return hindrance ? [{ code: hindrance.code, detail: hindrance.detail }] : [];
}

/** The coat that the new one would go on: whether it is open for it, and whether the two belong on each other. */
async function coatBelow(
  context: OperationContext,
  { jobId, surface }: Question,
  product: Stored<'coatingProduct'> | null,
) {
  const none = { refusals: [] as FinishWarning[], warnings: [] as FinishWarning[] };
  if (!jobId || !surface) return none;
  const top = (await coatsOfJobs(context, [jobId]))
    .filter((coat) => surfaceKey(coat.surface) === surfaceKey(surface))
    .sort((a, b) => b.coatNumber - a.coatNumber)[0];
  if (!top) return none;
  const { recoat } = at(await statusesOf(context, [top]), 0);
  return {
    refusals: recoat.allowedNow
      ? []
      : [
          {
            code: 'recoat-not-open',
            detail: `Coat ${top.coatNumber}, ${top.product.name}, is not open for the next. ${recoat.reason}`,
          },
        ],
    warnings: product ? layerWarnings(asLayer(top.product), asLayer(product)) : [],
  };
}

function answerOf(refusals: readonly FinishWarning[], missing: readonly (typeof fields)[number][]): string {
  const unknown = missing.map((field) => missingWords[field]);
  const lacking = unknown.length > 0 ? `${listed(unknown)} ${unknown.length === 1 ? 'is' : 'are'} missing` : '';
  const [first] = refusals;
  if (first) return `No. ${first.detail}`;
  return lacking ? `Not known yet: ${lacking}. Nothing that is known is against it.` : 'Yes, by what was measured.';
}

function reasonsOf(
  known: { metalCelsius: number | null },
  place: Stored<'place'> | null,
  product: Stored<'coatingProduct'> | null,
  readAt: Date | null,
): string[] {
  return [
    product ? `By the limits of ${product.name}.` : 'By common limits, as no can was named.',
    ...(readAt && place ? [`What was not given was read at ${place.name} at ${readAt.toISOString()}.`] : []),
    ...(known.metalCelsius === null
      ? ['The metal may be colder than the air; until it is measured, it is taken as warm as the air.']
      : []),
    "The can's own sheet decides, and how the parts feel to a dry hand: dew is seen before it is measured.",
  ];
}

const listed = (words: readonly string[]): string =>
  words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} and ${at(words, words.length - 1)}`;
const sentence = (detail: string): string => `${detail.charAt(0).toUpperCase()}${detail.slice(1)}.`;
const tenth = (value: number | null): number | null => (value === null ? null : Math.round(value * 10) / 10 + 0);

export const sprayDecisionQuery = query({
  name: 'sprayDecision',
  summary:
    'May I spray here now: judged before the coat from place, air, humidity, metal and can; what is missing is named',
  rest: { method: 'GET', path: '/spray-decision' },
  input: SprayQuestion,
  output: SprayDecision,
  run: sprayDecision,
});
