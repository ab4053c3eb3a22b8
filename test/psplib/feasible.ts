import type { PsplibInstance } from './read.js';

/**
 * Whether the starts are a schedule of the instance, judged from the file's own numbers, one time unit after the other;
 * shares nothing with the engine.
 * @returns the makespan.
 * @throws Error naming the first rule broken.
 */
export function checkPlain(instance: PsplibInstance, starts: ArrayLike<number>): number {
  const { durations, successors, demands, capacities, name } = instance;
  if (starts.length !== durations.length)
    throw new Error(`${name}: ${starts.length} starts for ${durations.length} tasks`);
  let makespan = 0;
  for (let i = 0; i < durations.length; i++) {
    const s = starts[i]!;
    if (!Number.isInteger(s) || s < 0) throw new Error(`${name}: task ${i + 1} starts at ${s}`);
    makespan = Math.max(makespan, s + durations[i]!);
    for (const j of successors[i]!) {
      if (starts[j]! < s + durations[i]!) throw new Error(`${name}: task ${j + 1} starts before ${i + 1} is finished`);
    }
  }
  for (let t = 0; t < makespan; t++) {
    for (let r = 0; r < capacities.length; r++) {
      let used = 0;
      for (let i = 0; i < durations.length; i++)
        if (starts[i]! <= t && t < starts[i]! + durations[i]!) used += demands[i]![r]!;
      if (used > capacities[r]!)
        throw new Error(`${name}: ${used} of ${capacities[r]} used at ${t} on resource ${r + 1}`);
    }
  }
  return makespan;
}
