/** A choice in words. Pure. */
import { at, last, lookUp } from '../../engine/look-up.js';
import type { Difference } from '../../engine/selection/index.js';
import type { Treatment } from '../value/machine-value.js';
import type { Choice } from '../value/scorer.js';
import type { MachineAnswer } from './choice-answer.js';
import type { ChooseAnswer } from './choose.js';
import type { ReadCandidate } from './read-choice.js';

interface Named {
  titles: ReadonlyMap<string, string>;
}

const TREATMENT_WORDS: Record<Exclude<Treatment, 'asPlanned'>, (title: string) => string> = {
  defer: (title) => `put ${title} behind all others`,
  mechanical: (title) => `mend ${title} and leave it unpainted`,
  sellAsFound: (title) => `sell ${title} as it stands`,
  partOut: (title) => `take ${title} apart for its parts`,
};

export function changeWords({ treatments, sequence }: Choice, { titles }: Named): string[] {
  const changed = Object.entries(treatments).flatMap(([id, treatment]) =>
    treatment === 'asPlanned' ? [] : [TREATMENT_WORDS[treatment](lookUp(titles, id))],
  );
  return sequence === 'plan' ? changed : [...changed, 'work in the order given'];
}

export function choiceWords(answer: ChooseAnswer, named: Named, currency: string): string {
  const { choice, best } = answer;
  const names = choice.bought.map((id) => lookUp(named.titles, id));
  const changes = changeWords(choice, named);
  if (names.length === 0 && changes.length === 0)
    return 'Buy none of them and leave the plan as it is: nothing else leaves more.';
  const what = [
    names.length > 0 ? `buy ${listOf(names)}` : 'buy none of them',
    ...changes.filter((one) => !one.startsWith('work in')),
  ].join('; ');
  const gain = `about ${Math.round(best.gain.mean)} ${currency} more than changing nothing`;
  const error = Math.round(best.gain.standardError);
  const clear = best.gain.mean > 2 * best.gain.standardError;
  const told = clear ? `${gain} (give or take ${error})` : `${gain}, which is within the error of ${error}`;
  return `${what.charAt(0).toUpperCase()}${what.slice(1)}: ${told}.`;
}

const listOf = (names: readonly string[]): string =>
  names.length === 1 ? at(names, 0) : `${names.slice(0, -1).join(', ')} and ${last(names)}`;

export function machineReasons({
  isBought,
  gain,
  candidate,
  breakEven,
  currency,
  answer,
}: {
  isBought: boolean;
  gain: Difference;
  candidate: ReadCandidate;
  breakEven: number;
  currency: string;
  answer: Omit<MachineAnswer, 'jobId' | 'isBought' | 'gain'>;
}): string[] {
  const amount = (value: number): string => `${Math.round(value)} ${currency}`;
  const within = Math.abs(gain.mean) <= 2 * gain.standardError;
  const error = `with a standard error of ${amount(gain.standardError)}`;
  const [adds, takes] = isBought ? ['adds', 'takes away'] : ['would add', 'would take away'];
  return [
    `${isBought ? 'In' : 'Beside'} this set it ${gain.mean >= 0 ? adds : takes} ${amount(Math.abs(gain.mean))}, ${error}${
      within ? ', which tells nothing' : ''
    }`,
    candidate.isAsked
      ? `${amount(candidate.price)} is asked`
      : `No price is asked, so the highest bid of ${amount(candidate.price)} is taken`,
    candidate.highestBid < breakEven
      ? `By itself no more than ${amount(candidate.highestBid)} keeps the rules for margin, hours and risk`
      : 'What it takes from the other machines sets the limit, not its own risk',
    answer.p50Minutes === null
      ? 'It has no place in the plan within its reach'
      : `Own work on it stands behind or between the open jobs; it brings ${amount(answer.expectedProceeds)} on average`,
  ];
}
