/** What a change of a job's work does to date, cost and margin, in words. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import type { WorkEffects } from '../../desk/proposals/proposals.shapes.js';
import { Facts } from '../frame/components.js';
import { Effects } from '../frame/effects.js';
import type { View } from '../frame/view.js';

type Effect = z.output<typeof WorkEffects>;

const fromTo = (before: string | null, after: string | null): string | null =>
  after === null ? null : before === after || before === null ? after : `${before} → ${after}`;

export const WorkEffect: FC<{ view: View; effects: Effect | null }> = ({ view, effects }) => {
  if (!effects) return null;
  const day = (date: string | null): string | null => (date === null ? null : view.say.day(date));
  const money = (amount: string | null | undefined): string | null => (amount == null ? null : view.say.money(amount));
  return (
    <>
      <Facts
        facts={[
          ['Likely done', fromTo(day(effects.expectedDateBefore), day(effects.expectedDateAfter))],
          [
            'Work to do',
            fromTo(view.say.work(effects.handsOnMinutesBefore), view.say.work(effects.handsOnMinutesAfter)),
          ],
          ['Cost in the end', fromTo(money(effects.costBefore), money(effects.costAfter))],
          ['Should bring', fromTo(money(effects.priceBefore), money(effects.priceAfter))],
          ['Leaves', fromTo(money(effects.marginBefore?.likely), money(effects.marginAfter?.likely))],
        ]}
      />
      <Effects view={view} effects={effects.completion} />
    </>
  );
};

/** The same in a sentence, after an act. */
export const workEffectSaid = (view: View, effects: Effect | null): string => {
  if (!effects) return '';
  const { expectedDateBefore: before, expectedDateAfter: after } = effects;
  const date = after === null || before === after ? '' : ` Likely done ${view.say.day(after)} now.`;
  const left = view.seesPrices ? effects.marginAfter?.likely : null;
  return `${date}${left == null ? '' : ` It should leave ${view.say.money(left)}.`}`;
};
