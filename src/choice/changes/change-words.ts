/** Changes to the shop in words, with the cautions that belong to them. Pure. */
import { at } from '../../engine/look-up.js';
import { cautionsFor, precedence } from '../../work/cautions.js';
import { type LeverAnswer, type LeverCode, type LeversAnswer, ORDER_DELAY_DAYS, type ScarceThing } from './levers.js';

const WORDS: Record<LeverCode, (detail: string | null) => string> = {
  hourMoreAWeek: () => 'work an hour a week more',
  helper: (weeks) => `take on a helper in the shop's hours for ${weeks} weeks`,
  dayOffLess: (date) => `work on ${date} instead of taking it off`,
  anotherBench: () => 'set up another bench',
  anotherSprayArea: () => 'set up another spray area',
  secondRack: () => 'set up a second rack of the same size',
  heatedSprayArea: () => 'heat the spray area, so that every day is a day to paint',
  heatedRack: (celsius) => `heat the rack to ${celsius} °C`,
  orderPartsToday: (count) => `order the ${count} parts known to be needed today`,
};

export const changeWords = ({ code, detail }: Pick<LeverAnswer, 'code' | 'detail'>): string => WORDS[code](detail);

export const scarceWords: Record<ScarceThing, string> = {
  hours: 'hours of work',
  bench: 'the bench',
  sprayArea: 'the spray area',
  cureRack: 'the rack',
  paintWeather: 'paint weather',
  parts: 'parts',
};

export function changeAnswer(told: readonly LeverAnswer[], { scarcity }: LeversAnswer, currency: string): string {
  const [first] = told;
  if (first) {
    const words = changeWords(first);
    const ready = first.readyGain.mean > 2 * first.readyGain.standardError ? first.readyGain.mean : 0;
    return `${words.charAt(0).toUpperCase()}${words.slice(1)}: about ${Math.round(first.gain.mean)} ${currency} more${
      ready >= 0.05 ? ` and ${ready.toFixed(1)} more machines ready` : ''
    }, before what it costs.`;
  }
  const [scarce] = [...scarcity].sort((a, b) => b.decidedShare - a.decidedShare);
  return scarce && scarce.decidedShare > 0
    ? `Nothing that was tried brings more than chance explains; what decides most often is ${scarceWords[scarce.thing]}.`
    : 'Nothing is scarce: no change that was tried would bring anything.';
}

export function changeReasons({ code, gain, daysSooner }: LeverAnswer, currency: string): string[] {
  const amount = Math.round(gain.mean);
  return [
    `it adds ${amount} ${currency}, give or take ${Math.round(gain.standardError)}`,
    `a machine is finished ${daysSooner.toFixed(1)} days sooner on average`,
    ...(code === 'helper' || code === 'hourMoreAWeek' || code === 'dayOffLess'
      ? ['what the further hours are paid with is not taken off']
      : []),
    ...(code === 'heatedSprayArea' || code === 'heatedRack'
      ? [`heating that costs more than ${amount} ${currency} in all until these jobs are done does not pay`]
      : []),
    ...(code === 'orderPartsToday' ? [`compared with ordering them ${ORDER_DELAY_DAYS} days from now`] : []),
  ];
}

/** A heater beside paint can hurt: the general cautions and what to ask. */
export function changeCautions(code: LeverCode): string[] {
  if (code !== 'heatedSprayArea' && code !== 'heatedRack') return [];
  const { title, text } = at(cautionsFor(['solventVapour']), 0);
  return [
    `${title}: ${text}`,
    'Heat only with a device made for such a room; ask its maker, the local code and a licensed electrician.',
    precedence,
  ];
}
