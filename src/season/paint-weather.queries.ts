/** When the weather lets a coat be applied: asked by a person, and by the plan. */
import { z } from 'zod';
import type { PaintLimits } from '../engine/weather/index.js';
import { type Call, query } from '../platform/operation/operation.js';
import { day, decimal, id, int } from '../platform/shapes.js';
import { snowQuestion } from './first-snow.queries.js';
import { paintingHours, paintingPlace, productLimits } from './paint-settings.js';
import type { PaintQuestion, PaintSpans, PaintWeatherYear } from './paint-windows.js';
import { PaintWeather } from './season.shapes.js';
import { forecastFrom, packedWeather, requireWeather } from './weather-record.js';
import { works } from './worker-tasks.js';

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
    leastCelsius: limit(-50, 100),
    mostCelsius: limit(-50, 100),
    mostHumidityPercent: limit(1, 100),
    dewPointMarginCelsius: limit(0, 50),
    windowMinutes: int(15, 1440)
      .default(LEAST_WINDOW_MINUTES)
      .meta({ scalar: 'Int', description: 'How long the weather must hold in one piece.' }),
    beforeDay: day.nullish().meta({ scalar: 'Day', description: 'The median first snow unless said.' }),
  }),
  output: PaintWeather,
  async run(call, input) {
    const weather = await requireWeather(call, 'air', input.stationId);
    const limits = { ...(await productLimits(call, input.productId)) };
    for (const key of ['leastCelsius', 'mostCelsius', 'mostHumidityPercent', 'dewPointMarginCelsius'] as const)
      limits[key] = input[key] ?? limits[key];
    const { place, words } = await paintingPlace(call, input.placeId);
    const settings = { place, limits, hours: await openHours(call), leastWindowMinutes: input.windowMinutes };
    const asked = {
      weather,
      forecast: await forecastFrom(call, call.today),
      settings,
      timeZone: call.shop.timeZone,
      now: call.now,
      today: call.today,
    };
    const answer = await call.compute(
      works.paintWeather,
      { ...asked, beforeDay: input.beforeDay ?? null, snow: input.beforeDay ? null : await snowQuestion(call) },
      call.signal,
    );
    return { ...answer, place: words, limits };
  },
});

async function openHours(call: Call) {
  const shop = await call.tx.shop.findUniqueOrThrow({ where: { id: call.shop.id }, select: { openingHours: true } });
  return paintingHours(shop.openingHours);
}

/** For one kind of place, the warmest the shop sprays in. */
async function paintQuestion(call: Call, fromDay: string, toDay: string, limits?: PaintLimits): Promise<PaintQuestion> {
  const { place } = await paintingPlace(call);
  const settings = { place, limits, hours: await openHours(call), leastWindowMinutes: LEAST_WINDOW_MINUTES };
  const weather = await packedWeather(call, 'air');
  return {
    weather,
    forecast: await forecastFrom(call, fromDay),
    fromDay,
    toDay,
    settings,
    timeZone: call.shop.timeZone,
  };
}

/**
 * The stretches in which a coat may be expected to go on, from forecast and climate. A constant number of statements.
 * @param limits the product's; common ones when left out
 * @returns every hour the shop is open, when no station tells anything
 */
export async function paintWindows(
  call: Call,
  fromDay: string,
  toDay: string,
  limits?: PaintLimits,
): Promise<PaintSpans> {
  return call.compute(works.paintWindows, await paintQuestion(call, fromDay, toDay, limits));
}

/** Every year that could come, for a simulation to draw from. A constant number of statements. */
export async function paintWeatherYears(
  call: Call,
  fromDay: string,
  toDay: string,
  limits?: PaintLimits,
): Promise<PaintWeatherYear[]> {
  return call.compute(works.paintYears, {
    ...(await paintQuestion(call, fromDay, toDay, limits)),
    snow: await snowQuestion(call),
  });
}
