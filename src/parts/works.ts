/** What the parts area has computed in threads: learning from every order line there ever was. */
import { worksOf } from '../platform/threads/work.js';
import { forecastLines } from './learned.js';

export const works = worksOf(import.meta.url, { short: { arrivals: forecastLines } });
