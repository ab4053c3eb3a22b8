/**
 * What to do before anything else is done to a machine that has just come in, by its kind and engine: few, in order, each
 * with the caution that says the rest. Common practice, no source; the maker's manual goes before it.
 */
import { z } from 'zod';
import { shape } from '../platform/shapes.js';
import type { CautionCode } from './cautions.js';

export const FirstStep = shape(
  'FirstStep',
  {
    title: z.string(),
    text: z.string(),
    caution: z.string().meta({ description: 'The code of the caution that says the rest.' }),
  },
  'A safety step to take before anything else.',
);

interface Step {
  title: string;
  text: string;
  caution: CautionCode;
}

export interface FirstSight {
  kind: string;
  engineType: string | null;
  /** Words of whoever sold it, and what was seen on it. */
  words: readonly string[];
  /** Names of what is fitted. */
  equipment: readonly string[];
}

const unplugged: Step = {
  title: 'Current off',
  text: 'Pull the cord out of the socket, take the battery out, and let the motor come to rest before you touch anything.',
  caution: 'battery',
};
const plugOff: Step = {
  title: 'Key out, plug wire off',
  text: 'Take the key out, pull the spark plug wire, hold it clear of the plug: turning an auger, rotor or blade can fire the engine.',
  caution: 'spinningAuger',
};
const starterOff: Step = {
  title: 'Starter stays off',
  text: 'Somebody says that it smoked or grew hot: do not plug it in and do not try it; disconnect it first.',
  caution: 'starterCircuit',
};
const chute: Step = {
  title: 'Nothing by hand in chute or auger',
  text: 'Ice, stones or rope hold it under strain, and it turns when they let go, engine off or on: use a stick or the clean-out tool.',
  caution: 'spinningAuger',
};
const blade: Step = {
  title: 'Blade wedged before you reach under',
  text: 'Wedge the blade, wear gloves, and tip the mower with its air filter up unless its manual says otherwise.',
  caution: 'blade',
};
const fuel: Step = {
  title: 'Fuel out, outdoors',
  text: 'Drain tank and carburettor on the cold engine, away from flame, heater and switch, into a closed, marked can.',
  caution: 'fuelVapour',
};
const steady: Step = {
  title: 'Standing fast',
  text: 'Chock the wheels and put it on stands before you work under or in front of it; never on a jack or a strap alone.',
  caution: 'tipping',
};

const burnt = /\b(smok\w*|burn\w*|hot|melt\w*)\b/i;
const starter = /\bstart(er)?\b/i;

/** In the order in which they are taken. */
export function firstSteps({ kind, engineType, words, equipment }: FirstSight): Step[] {
  const smoked = words.some((one) => burnt.test(one) && starter.test(one));
  const plugged = engineType === 'electric' || equipment.some((one) => /electric start/i.test(one));
  return [
    ...(engineType === 'electric' ? [unplugged] : [plugOff]),
    ...(engineType !== 'electric' && plugged && !smoked ? [{ ...unplugged, title: 'Starter cord out' }] : []),
    ...(smoked ? [starterOff] : []),
    ...(kind === 'singleStageThrower' || kind === 'twoStageThrower' ? [chute] : []),
    ...(kind === 'walkBehindMower' ? [blade] : []),
    ...(engineType === 'electric' ? [] : [fuel]),
    ...(kind === 'twoStageThrower' || kind === 'other' ? [steady] : []),
  ];
}
