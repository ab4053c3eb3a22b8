/** What the season area has computed in threads: all that goes through a station's years day by day. */
import { defineWorkerTasks } from '../platform/workers/worker-task.js';
import { firstSnowOf, snowOutlookOf } from './first-snow.js';
import { lastFrostOf } from './last-frost.js';
import { paintWeatherOf } from './paint-weather.js';
import { paintWindowsOf, paintYearsOf } from './paint-windows.js';

export const workerTasks = defineWorkerTasks(import.meta.url, {
  short: {
    snowOutlook: snowOutlookOf,
    firstSnow: firstSnowOf,
    lastFrost: lastFrostOf,
    paintWeather: paintWeatherOf,
    paintWindows: paintWindowsOf,
    paintYears: paintYearsOf,
  },
});
