/** Measures of what waits where: read anew for each scrape, so that nothing is counted twice or forgotten. */
import { Gauge, type Registry } from 'prom-client';
import { at } from '../../engine/look-up.js';
import type { Database } from '../database/database.js';

/** @param register one for each database: a process has one, tests have many */
export function measureDatabase(register: Registry, database: Database): void {
  for (const name of ['database_connections', 'waiting', 'database_away', 'oldest_plan_seconds'])
    register.removeSingleMetric(`frostwright_${name}`);
  new Gauge({
    name: 'frostwright_database_connections',
    help: 'Connections of the pool, by what they do',
    labelNames: ['use'],
    registers: [register],
    collect() {
      const { totalCount, idleCount, waitingCount } = database.pool;
      this.set({ use: 'busy' }, totalCount - idleCount);
      this.set({ use: 'idle' }, idleCount);
      this.set({ use: 'awaited' }, waitingCount);
    },
  });
  new Gauge({
    name: 'frostwright_waiting',
    help: 'Work that waits for its turn, by what it waits for',
    labelNames: ['for'],
    registers: [register],
    async collect() {
      const { shopsWaiting } = await planning(database);
      this.set({ for: 'plan' }, shopsWaiting);
      this.set({ for: 'slow place' }, database.slowTurns.waiting);
      this.set({ for: 'connection' }, database.turns.waiting);
    },
  });
  new Gauge({
    name: 'frostwright_oldest_plan_seconds',
    help: 'Age of the plan that is oldest, of all shops',
    registers: [register],
    async collect() {
      this.set((await planning(database)).oldestPlanSeconds);
    },
  });
  new Gauge({
    name: 'frostwright_database_away',
    help: '1 while the database does not answer',
    registers: [register],
    collect() {
      this.set(database.awaySince ? 1 : 0);
    },
  });
}

interface Planning {
  shopsWaiting: number;
  oldestPlanSeconds: number;
}

async function planning(database: Database): Promise<Planning> {
  if (database.awaySince) return { shopsWaiting: NaN, oldestPlanSeconds: NaN };
  const { rows } = await database.pool.query<Planning>('SELECT * FROM planning_measures()');
  return at(rows, 0);
}
