/** How far a job goes, and which of its tasks are then not wanted. */
import type { JobTask } from './proposal.js';

export const jobScopes = ['full', 'mechanical', 'mendOneFault', 'sellAsFound', 'stripForParts'] as const;
export type JobScope = (typeof jobScopes)[number];

export const scopeReasons: Record<Exclude<JobScope, 'full'>, string> = {
  mechanical: 'the job is mechanical: paint stays as it is',
  mendOneFault: 'the job mends one fault',
  sellAsFound: 'the machine is sold as found',
  stripForParts: 'the machine is taken apart for its parts',
};

const PAINTING = ['derust', 'prime', 'colour', 'clear', 'cure'];
/** What makes a machine fit to be handed over or stood aside, whatever else is done. */
const TRYING_OUT = ['test', 'offer'];

/**
 * Whether a task not yet begun is wanted in a scope.
 * @param forChosen it is for the fault that the job mends, or opens and closes the machine for it
 * @param forFinding it is for a finding whose proposal was accepted
 */
export function isWanted(
  scope: JobScope,
  task: Pick<JobTask, 'kind'>,
  { forChosen, forFinding }: { forChosen: boolean; forFinding: boolean },
): boolean {
  switch (scope) {
    case 'full':
      return true;
    case 'mechanical':
      return forFinding || !PAINTING.includes(task.kind);
    case 'mendOneFault':
      return forChosen || TRYING_OUT.includes(task.kind);
    case 'sellAsFound':
      return task.kind === 'offer';
    case 'stripForParts':
      return false;
  }
}

/** A coat is part of it. */
export const scopePaints = (scope: JobScope): boolean => scope === 'full' || scope === 'mendOneFault';
