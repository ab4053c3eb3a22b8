/** When the first snow is to be expected: asked by a person, and by the plan. */
import { z } from 'zod';
import { type OperationContext, query } from '../platform/operation/operation.js';
import { day, decimal, id, int } from '../platform/shapes.js';
import { type SnowOutlook, type SnowQuestion, unknownSnow } from './first-snow.js';
import { FirstSnow, QuantileType } from './stations/season.shapes.js';
import { packedWeather, requireWeather } from './stations/weather-record.js';
import { workerTasks } from './worker-tasks.js';

async function shopSettings(
  context: OperationContext,
): Promise<Pick<SnowQuestion, 'thresholdMillimetres' | 'seasonEndMonthDay' | 'latestSeasons'>> {
  const shop = await context.tx.shop.findUniqueOrThrow({
    where: { id: context.shop.id },
    select: { snowThresholdMillimetres: true, seasonEndMonthDay: true, latestSnowSeasons: true },
  });
  return {
    thresholdMillimetres: Number(shop.snowThresholdMillimetres),
    seasonEndMonthDay: shop.seasonEndMonthDay,
    latestSeasons: shop.latestSnowSeasons,
  };
}

/** What the plan asks about the snow; null where no station has records. Three statements, constant. */
export async function snowQuestion(context: OperationContext): Promise<SnowQuestion | null> {
  const settings = await shopSettings(context);
  const weather = await packedWeather(context, 'snow');
  return weather && { ...settings, weather, today: context.today };
}

/** The first snow as the plan computes with it. */
export async function snowOutlook(context: OperationContext): Promise<SnowOutlook> {
  const question = await snowQuestion(context);
  return question
    ? context.compute(workerTasks.snowOutlook, question)
    : unknownSnow((await shopSettings(context)).thresholdMillimetres);
}

export const firstSnowQuery = query({
  name: 'firstSnow',
  slow: true,
  summary: 'When the first snow of the season is to be expected, and given that none has fallen so far',
  rest: { method: 'GET', path: '/first-snow' },
  input: z.strictObject({
    stationId: id
      .nullish()
      .meta({ scalar: 'ID', description: 'The nearest with ten years of the records it takes, unless said.' }),
    thresholdMillimetres: decimal(0.1, 1000)
      .nullish()
      .meta({
        scalar: 'Float',
        description:
          "The shop's own unless said. One inch is 25 where a station stores whole millimetres; " +
          'a tenth of an inch is 2.54; a trace is never an event.',
      }),
    quantileType: QuantileType.nullish().meta({
      description: 'How quantiles are drawn (Hyndman and Fan 1996); medianUnbiased unless said.',
    }),
    latestSeasons: int(10, 300).nullish().meta({
      scalar: 'Int',
      description:
        "So many of the latest seasons tell of the coming one, null all of them; the shop's own setting unless said.",
    }),
    byDays: z.array(day).max(60).nullish().meta({ description: 'Days whose chance is wanted.' }),
  }),
  output: FirstSnow,
  async run(context, input) {
    const settings = await shopSettings(context);
    const weather = await requireWeather(context, 'snow', input.stationId);
    const { seasonEndMonthDay } = settings;
    const thresholdMillimetres = input.thresholdMillimetres ?? settings.thresholdMillimetres;
    return context.compute(
      workerTasks.firstSnow,
      {
        weather,
        thresholdMillimetres,
        seasonEndMonthDay,
        latestSeasons: input.latestSeasons === undefined ? settings.latestSeasons : input.latestSeasons,
        today: context.today,
        quantileType: input.quantileType ?? 'medianUnbiased',
        byDays: input.byDays ?? [],
      },
      context.signal,
    );
  },
});
