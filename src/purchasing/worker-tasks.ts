/** What the parts area has computed in threads: learning from every order line there ever was. */
import { worksOf } from '../platform/workers/worker-task.js';
import { forecastLines } from './arrival-learning.js';

export const works = worksOf(import.meta.url, { short: { arrivals: forecastLines } });
