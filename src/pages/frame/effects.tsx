/** How a step moved completion, as a line a job. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import type { CompletionEffect } from '../../platform/completion/completion-effects.shapes.js';
import { plural } from './format.js';
import type { View } from './view.js';

type Effect = z.output<typeof CompletionEffect>;

export function effectInWords(view: View, effect: Effect): string {
  const { days, after, jobNumber } = effect;
  if (days === 0) return `Job ${jobNumber} stays where it was.`;
  if (days === null)
    return after
      ? `Job ${jobNumber} is now likely done ${view.say.day(after)}.`
      : `When job ${jobNumber} is done is no longer known.`;
  return (
    `Job ${jobNumber} ${days > 0 ? 'later' : 'sooner'} by ` +
    `${plural(Math.abs(days), 'day')}${after ? `, to ${view.say.day(after)}` : ''}.`
  );
}

/** For a sentence after an act: only what moved. */
export const effectsSaid = (view: View, effects: readonly Effect[]): string =>
  effects
    .filter((effect) => effect.days !== 0)
    .slice(0, 3)
    .map((effect) => ` ${effectInWords(view, effect)}`)
    .join('');

export const Effects: FC<{ view: View; effects: readonly Effect[] }> = ({ view, effects }) =>
  effects.length === 0 ? null : (
    <ul>
      {effects.map((effect) => (
        <li>{effectInWords(view, effect)}</li>
      ))}
    </ul>
  );
