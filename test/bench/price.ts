import { intervalRows } from './price/intervals.js';
import { World } from './price/worlds.js';
export function main(args: string[]): void {
  const n = Number(args[0] ?? 200);
  const t=Date.now();
  for (const w of [{ world: 'beliefs' }, { world: 'drift', drift: { perYear: 0.04, deviation: 0.04, walkPerYear: 0.05 } }, { world: 'noise', noise: [0.12, 0.2, 0.4] }])
    for (const r of intervalRows(World.parse(w), n, 1)) console.log(r.world, r.comparables, r.noise, r.coverage80.toFixed(3), 'err', r.error.toFixed(4), 'former', r.formerError.toFixed(4), r.formerCoverage80.toFixed(3), 'med', r.medianError.toFixed(3), 'ls', r.leastSquaresError.toFixed(3), Date.now()-t);
}
