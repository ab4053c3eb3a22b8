/**
 * What must work, and be recorded as working, before a machine goes to anybody else. Common practice, no source,
 * but for the mower blade's stopping time; the maker's manual and local rules go before all of it.
 */

export interface SafetyRequirement {
  code: string;
  title: string;
  text: string;
}

type Kind = 'singleStageThrower' | 'twoStageThrower' | 'walkBehindMower' | 'other';

const throwers: Kind[] = ['singleStageThrower', 'twoStageThrower'];
const handled: Kind[] = [...throwers, 'walkBehindMower'];
const every: Kind[] = [...handled, 'other'];

const table = {
  operatorPresence: {
    title: 'Dead-man control',
    text: 'Letting go of the operator-presence lever stops the auger, rotor or blade; the lever is not tied, taped or bent.',
    kinds: handled,
  },
  engineStops: {
    title: 'Engine stops',
    text: 'The stop switch, the key and the choke or fuel shut-off each stop the engine every time.',
    kinds: every,
  },
  noFuelLeak: {
    title: 'No fuel leak',
    text: 'Tank, cap, lines and carburettor stay dry, standing overnight and running.',
    kinds: every,
  },
  guards: {
    title: 'Guards in place',
    text: 'Belt covers, muffler guard and every shield the maker fitted are there and fast.',
    kinds: every,
  },
  chute: {
    title: 'Chute and deflector',
    text: 'The chute and its deflector are fast, turn and stay where they are put; the clean-out tool is on the machine.',
    kinds: throwers,
  },
  driveDisengages: {
    title: 'Drive lets go',
    text: 'Releasing the drive control stops the wheels, and the machine does not creep.',
    kinds: ['twoStageThrower'],
  },
  beltDisengages: {
    title: 'Belt lets go',
    text: 'With the control released the belt stands still and does not drag the auger, rotor or blade round.',
    kinds: handled,
  },
  shearBolts: {
    title: 'Right shear bolts',
    text: 'Every shear bolt is the exact one the maker names, none is missing, and no common bolt stands in for one.',
    kinds: ['twoStageThrower'],
  },
  throttleReturns: {
    title: 'Throttle and governor',
    text: "The throttle moves freely over its range, and the governed speed stays at or below the maker's figure.",
    kinds: every,
  },
  sparkLead: {
    title: 'Plug lead and wiring',
    text: 'The spark plug wire is sound and can be pulled for work; no wire is bare, chafed or hot after a run.',
    kinds: every,
  },
  bladeStops: {
    title: 'Blade stops',
    text: 'The blade stands still within 3 seconds of letting go (16 CFR 1205.5 asks this of new walk-behind mowers in the United States).',
    kinds: ['walkBehindMower'],
  },
  bladeSound: {
    title: 'Blade sound and tight',
    text: "The blade has no crack, is balanced, and its bolt is tightened to the maker's torque.",
    kinds: ['walkBehindMower'],
  },
  dischargeGuard: {
    title: 'Discharge guard',
    text: 'The discharge deflector springs shut and the rear shield hangs free.',
    kinds: ['walkBehindMower'],
  },
  fastenersTight: {
    title: 'Fasteners tight',
    text: 'After a warm run nothing has worked loose: handles, wheels, engine bolts, skids.',
    kinds: every,
  },
} as const satisfies Record<string, { title: string; text: string; kinds: readonly Kind[] }>;

export type SafetyCheckCode = keyof typeof table;
export const safetyCheckCodes = Object.keys(table) as [SafetyCheckCode, ...SafetyCheckCode[]];

export const isSafetyCheck = (code: string): code is SafetyCheckCode => code in table;

/** The checks a machine of this kind needs, in the order they are best made. */
export function requiredChecks(kind: string): SafetyRequirement[] {
  return safetyCheckCodes.filter((code) => (table[code].kinds as readonly string[]).includes(kind)).map(requirement);
}

export const requirement = (code: SafetyCheckCode): SafetyRequirement => ({
  code,
  title: table[code].title,
  text: table[code].text,
});
