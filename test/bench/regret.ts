import { askCases, askInputOf } from './price/ask-cases.js';
import { planAsk } from '../../src/engine/price/ask-plan.js';
import { usualTruths, bestIn, netIn, policyOf } from './price/truths.js';
export function main() {
  for (const truth of usualTruths) { let s=0; const out=[];
    for (const c of askCases) { const input = askInputOf(c); const plan = planAsk(input);
      const own = netIn(truth, input, plan)(policyOf(plan)); const best = bestIn(truth, input, plan); out.push((100*(1-own/best)).toFixed(2)); s+=100*(1-own/best);
    } console.log(truth.truth, (s/askCases.length).toFixed(2), out.join(' ')); }
}
