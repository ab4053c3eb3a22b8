/** When the last frost of spring is to be expected: the start of the season for machines that cut grass. */
import { z } from 'zod';
import { query } from '../platform/operation/operation.js';
import { day, decimal, id } from '../platform/shapes.js';
import { LastFrost, QuantileType } from './stations/season.shapes.js';
import { requireWeather } from './stations/weather-record.js';
import { workerTasks } from './worker-tasks.js';

export const lastFrostQuery = query({
  name: 'lastFrost',
  slow: true,
  summary: 'When the last frost of the spring is to be expected, from when mowers are wanted',
  rest: { method: 'GET', path: '/last-frost' },
  input: z.strictObject({
    stationId: id
      .nullish()
      .meta({ scalar: 'ID', description: 'The nearest with ten years of the records it takes, unless said.' }),
    thresholdCelsius: decimal(-40, 20)
      .default(0)
      .meta({ scalar: 'Float', description: 'A night this cold or colder counts as frost.' }),
    quantileType: QuantileType.default('medianUnbiased'),
    byDays: z.array(day).max(60).nullish().meta({ description: 'Days whose chance is wanted.' }),
  }),
  output: LastFrost,
  async run(context, { stationId, byDays, ...input }) {
    return context.compute(
      workerTasks.lastFrost,
      {
        ...input,
        weather: await requireWeather(context, 'air', stationId),
        today: context.today,
        byDays: byDays ?? [],
      },
      context.signal,
    );
  },
});
