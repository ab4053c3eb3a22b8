import { askRows } from './price/ask-cases.js';
export function main() {
  for (let k=0;k<2;k++) { const t = performance.now();
  for (const r of askRows()) { console.log(r.case, r.comparables, r.likely.toFixed(1), r.ask, (r.ask / r.likely).toFixed(3), r.plan.expectedNet.toFixed(), r.plan.probabilitySold, r.plan.steps.map(s=>s.from.slice(5)+':'+s.ask.toFixed()+'/'+s.acceptAtLeast.toFixed(0)).join(' '), r.plan.cap.reason); if(k) console.log(r.plan.reasons.join('\n')); }
  console.log(performance.now()-t); }
}
