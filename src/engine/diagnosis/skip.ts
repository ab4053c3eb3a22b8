/** Tasks that are not wanted: what came after one goes on after what that one waited for. */

export interface Link {
  taskId: string;
  predecessorId: string;
}

/**
 * The links that carry the order over skipped tasks: from each task that stays to the nearest ones before it that stay.
 * @param links all there are but such bridges, skipped tasks' among them
 * @returns only links that are not there
 */
export function bridgesOver(links: readonly Link[], skipped: ReadonlySet<string>): Link[] {
  const before = new Map<string, string[]>();
  for (const { taskId, predecessorId } of links) before.set(taskId, [...(before.get(taskId) ?? []), predecessorId]);
  const nearest = (skippedId: string, seen: Set<string>): string[] =>
    (before.get(skippedId) ?? []).flatMap((id) => {
      if (!skipped.has(id)) return [id];
      if (seen.has(id)) return [];
      seen.add(id);
      return nearest(id, seen);
    });
  const bridges: Link[] = [];
  for (const [taskId, predecessors] of before) {
    if (skipped.has(taskId)) continue;
    const there = new Set(predecessors);
    for (const one of predecessors.filter((id) => skipped.has(id)))
      for (const predecessorId of nearest(one, new Set([one])))
        if (!there.has(predecessorId)) {
          there.add(predecessorId);
          bridges.push({ taskId, predecessorId });
        }
  }
  return bridges;
}
