/** When the first snow is to be expected: asked by a person, and by the plan. */
import { z } from 'zod';
import { type Call, query } from '../platform/operation/operation.js';
import { day, decimal, id } from '../platform/shapes.js';
import { type SnowOutlook, type SnowQuestion, unknownSnow } from './first-snow.js';
import { FirstSnow, QuantileType } from './season.shapes.js';
import { packedWeather, requireWeather } from './weather-record.js';
import { works } from './worker-tasks.js';

async function shopSettings(call: Call): Promise<{ thresholdMillimetres: number; seasonEndsOn: string }> {
  const shop = await call.tx.shop.findUniqueOrThrow({
    where: { id: call.shop.id },
    select: { snowThresholdMillimetres: true, seasonEndsOn: true },
  });
  return { thresholdMillimetres: Number(shop.snowThresholdMillimetres), seasonEndsOn: shop.seasonEndsOn };
}

/** What the plan asks about the snow; null where no station has records. Three statements, constant. */
export async function snowQuestion(call: Call): Promise<SnowQuestion | null> {
  const settings = await shopSettings(call);
  const weather = await packedWeather(call, 'snow');
  return weather && { ...settings, weather, today: call.today };
}

/** The first snow as the plan reckons with it. */
export async function snowOutlook(call: Call): Promise<SnowOutlook> {
  const question = await snowQuestion(call);
  return question
    ? call.compute(works.snowOutlook, question)
    : unknownSnow((await shopSettings(call)).thresholdMillimetres);
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
    thresholdMillimetres: decimal(0.1, 1000).nullish().meta({
      scalar: 'Float',
      description: "The shop's own unless said. One inch is 25, as stations store it; a trace is never an event.",
    }),
    quantileType: QuantileType.nullish().meta({
      description: 'How quantiles are drawn (Hyndman and Fan 1996); medianUnbiased unless said.',
    }),
    byDays: z.array(day).max(60).nullish().meta({ description: 'Days whose chance is wanted.' }),
  }),
  output: FirstSnow,
  async run(call, input) {
    const settings = await shopSettings(call);
    const weather = await requireWeather(call, 'snow', input.stationId);
    const { seasonEndsOn } = settings;
    const thresholdMillimetres = input.thresholdMillimetres ?? settings.thresholdMillimetres;
    return call.compute(
      works.firstSnow,
      {
        weather,
        thresholdMillimetres,
        seasonEndsOn,
        today: call.today,
        quantileType: input.quantileType ?? 'medianUnbiased',
        byDays: input.byDays ?? [],
      },
      call.signal,
    );
  },
});
