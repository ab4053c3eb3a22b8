import { EngineError } from '../error.js';
import { findCycle } from '../graph.js';

/** The maker replaced one number by another. */
export interface Supersession {
  oldId: string;
  newId: string;
}

/**
 * The numbers that a part has become, itself first and the current one last.
 * @throws EngineError `supersession-cycle` if the links run in a circle
 */
export function supersessionChain(links: readonly Supersession[], partId: string): string[] {
  const cycle = cycleOf(links);
  if (cycle) throw new EngineError('supersession-cycle', `the supersession runs in a circle: ${cycle.join(' → ')}`);
  const next = new Map(links.map((link) => [link.oldId, link.newId]));
  const chain = [partId];
  for (let id = next.get(partId); id !== undefined; id = next.get(id)) chain.push(id);
  return chain;
}

/**
 * Adds a link.
 * @returns the links with it
 * @throws EngineError `supersession-cycle` naming the circle it would close; `already-superseded` if the old number
 *   already has another successor
 */
export function supersede(links: readonly Supersession[], link: Supersession): Supersession[] {
  const successor = links.find((known) => known.oldId === link.oldId)?.newId;
  if (successor === link.newId) return [...links];
  if (successor !== undefined) {
    throw new EngineError('already-superseded', `${link.oldId} is already superseded by ${successor}`, 'oldId');
  }
  const cycle = cycleOf([link, ...links]);
  if (cycle) throw new EngineError('supersession-cycle', `this would close a circle: ${cycle.join(' → ')}`, 'newId');
  return [...links, link];
}

const cycleOf = (links: readonly Supersession[]) => findCycle(links.map(({ oldId, newId }) => [oldId, newId] as const));
