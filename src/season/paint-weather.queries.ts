/** When the weather lets a coat be applied: asked by a person, and by the plan. */
import { z } from 'zod';
import type { PaintLimits } from '../engine/weather/index.js';
import { type OperationContext, query } from '../platform/operation/operation.js';
import { day, decimal, id, int } from '../platform/shapes.js';
import { snowQuestion } from './first-snow.queries.js';
import { paintingHours, paintingPlace, paintingWeek, productLimits } from './paint-settings.js';
import type { PaintQuestion, PaintSpans, PaintWeatherYear } from './paint-windows.js';
import { PaintWeather } from './stations/season.shapes.js';
import { packedWeather, requireWeather, scheduleRecords } from './stations/weather-record.js';
import { workerTasks } from './worker-tasks.js';

/** A stretch must hold so long in one piece to be worth mixing paint for. */
const LEAST_WINDOW_MINUTES = 240;

const limit = (least: number, most: number) => decimal(least, most).nullish();

export const paintWeatherQuery = query({
  name: 'paintWeather',
  slow: true,
  summary: 'When the weather lets a coat be applied: by time of year, before a day, and how long a wait',
  rest: { method: 'GET', path: '/paint-weather' },
  input: z.strictObject({
    stationId: id
      .nullish()
      .meta({ scalar: 'ID', description: 'The nearest with ten years of the records it takes, unless said.' }),
    productId: id
      .nullish()
      .meta({ scalar: 'ID', description: 'The coating product whose limits count; common limits unless said.' }),
    placeId: id
      .nullish()
      .meta({ scalar: 'ID', description: "Where it is painted; the warmest of the shop's spray areas unless said." }),
    minCelsius: limit(-50, 100),
    maxCelsius: limit(-50, 100),
    maxHumidityPercent: limit(1, 100),
    dewPointMarginCelsius: limit(0, 50),
    windowMinutes: int(15, 1440)
      .default(LEAST_WINDOW_MINUTES)
      .meta({ scalar: 'Int', description: 'How long the weather must hold in one piece.' }),
    beforeDate: day.nullish().meta({ scalar: 'Day', description: 'The median first snow unless said.' }),
  }),
  output: PaintWeather,
  async run(context, input) {
    const weather = await requireWeather(context, 'air', input.stationId);
    const limits = { ...(await productLimits(context, input.productId)) };
    for (const key of ['minCelsius', 'maxCelsius', 'maxHumidityPercent', 'dewPointMarginCelsius'] as const)
      limits[key] = input[key] ?? limits[key];
    const { place, words } = await paintingPlace(context, input.placeId);
    const { hours, weekHours } = await openHours(context);
    const settings = { place, limits, hours, minWindowMinutes: input.windowMinutes };
    const asked = {
      weather,
      forecast: await scheduleRecords(context, context.today),
      settings,
      weekHours,
      timeZone: context.shop.timeZone,
      now: context.now,
      today: context.today,
    };
    const answer = await context.compute(
      workerTasks.paintWeather,
      { ...asked, beforeDate: input.beforeDate ?? null, snow: input.beforeDate ? null : await snowQuestion(context) },
      context.signal,
    );
    return { ...answer, place: words, limits };
  },
});

async function openHours(context: OperationContext) {
  const shop = await context.tx.shop.findUniqueOrThrow({
    where: { id: context.shop.id },
    select: { openingHours: true },
  });
  return { hours: paintingHours(shop.openingHours), weekHours: paintingWeek(shop.openingHours) };
}

/** For one kind of place, the warmest the shop sprays in. */
async function paintQuestion(
  context: OperationContext,
  startDate: string,
  endDate: string,
  limits?: PaintLimits,
): Promise<PaintQuestion> {
  const { place } = await paintingPlace(context);
  const { hours } = await openHours(context);
  const settings = { place, limits, hours, minWindowMinutes: LEAST_WINDOW_MINUTES };
  const weather = await packedWeather(context, 'air');
  return {
    weather,
    forecast: await scheduleRecords(context, startDate),
    startDate,
    endDate,
    settings,
    timeZone: context.shop.timeZone,
  };
}

/**
 * The stretches in which a coat may be expected to go on, from forecast and climate. A constant number of statements.
 * @param limits the product's; common ones when left out
 * @returns every hour the shop is open, when no station tells anything
 */
export async function paintWindows(
  context: OperationContext,
  startDate: string,
  endDate: string,
  limits?: PaintLimits,
): Promise<PaintSpans> {
  return context.compute(workerTasks.paintWindows, await paintQuestion(context, startDate, endDate, limits));
}

/** Every year that could come, for a simulation to draw from. A constant number of statements. */
export async function paintWeatherYears(
  context: OperationContext,
  startDate: string,
  endDate: string,
  limits?: PaintLimits,
): Promise<PaintWeatherYear[]> {
  return context.compute(workerTasks.paintYears, {
    ...(await paintQuestion(context, startDate, endDate, limits)),
    snow: await snowQuestion(context),
  });
}
