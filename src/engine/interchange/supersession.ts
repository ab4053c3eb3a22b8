import { EngineError } from '../error.js';

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
  const next = new Map(links.map((link) => [link.oldId, link.newId]));
  const chain = [partId];
  for (let id = next.get(partId); id !== undefined; id = next.get(id)) {
    const closed = chain.includes(id);
    chain.push(id);
    if (closed) throw new EngineError('supersession-cycle', `the supersession runs in a circle: ${chain.join(' → ')}`);
  }
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
  const onward = supersessionChain(links, link.newId);
  if (onward.includes(link.oldId)) {
    const circle = [link.oldId, ...onward.slice(0, onward.indexOf(link.oldId) + 1)];
    throw new EngineError('supersession-cycle', `this would close a circle: ${circle.join(' → ')}`, 'newId');
  }
  return [...links, link];
}
