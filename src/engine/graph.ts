/**
 * Looks for a cycle in what leads to what.
 * @param edges from what comes first to what comes after it
 * @returns one cycle in its order, its first member again at its end; or null when there is none
 */
export function findCycle<T>(edges: Iterable<readonly [first: T, then: T]>): T[] | null {
  const followers = new Map<T, T[]>();
  for (const [first, then] of edges) {
    const known = followers.get(first);
    if (known) known.push(then);
    else followers.set(first, [then]);
  }
  const done = new Set<T>();
  const path: T[] = [];
  const walk = (one: T): T[] | null => {
    const met = path.indexOf(one);
    if (met >= 0) return [...path.slice(met), one];
    if (done.has(one)) return null;
    path.push(one);
    for (const next of followers.get(one) ?? []) {
      const cycle = walk(next);
      if (cycle) return cycle;
    }
    path.pop();
    done.add(one);
    return null;
  };
  for (const one of followers.keys()) {
    const cycle = walk(one);
    if (cycle) return cycle;
  }
  return null;
}
