/** Which kind of task puts on a coat of which role. */
export type CoatRole = 'primer' | 'colour' | 'clear';

export const roleOfKind: Readonly<Record<string, CoatRole>> = { prime: 'primer', colour: 'colour', clear: 'clear' };
