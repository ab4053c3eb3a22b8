/** What the finish area has computed in threads: the coats' clocks, each run through years of temperatures. */
import { worksOf } from '../platform/workers/worker-task.js';
import { jobsCuring } from './curing.js';
import { coatStandings } from './standing.js';

export const works = worksOf(import.meta.url, { short: { curing: jobsCuring, standings: coatStandings } });
