/** The price among the prices seen: one dot each, filled where it was paid, and where ask and lowest price lie. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import type { PriceAdvice } from '../../resale/price.shapes.js';
import type { Comparable } from '../../resale/resale.shapes.js';
import { Table } from '../frame/components.js';
import type { View } from '../frame/view.js';
import { conditions } from '../frame/words.js';

const WIDTH = 380;
const HEIGHT = 190;
const DAYS = 730;

export const PriceDrawing: FC<{
  view: View;
  advice: z.output<typeof PriceAdvice>;
  comparables: readonly z.output<typeof Comparable>[];
}> = ({ view, advice, comparables }) => {
  const { say } = view;
  const today = Date.parse(say.today.toString());
  const shown = comparables
    .flatMap((one) => (one.price ? [{ ...one, price: one.price }] : []))
    .filter((one) => today - Date.parse(one.seenDate) < DAYS * 86_400_000)
    .slice(0, 200);
  const amounts = [...shown.map((one) => Number(one.price)), Number(advice.ask), Number(advice.reservationPrice)];
  const most = Math.max(...amounts) * 1.08;
  const y = (amount: number) => HEIGHT - 22 - (amount / most) * (HEIGHT - 34);
  const oldest = Math.min(today - 90 * 86_400_000, ...shown.map((one) => Date.parse(one.seenDate)));
  const x = (date: string) => 8 + ((Date.parse(date) - oldest) / (today - oldest)) * (WIDTH - 118);
  return (
    <figure>
      <figcaption>
        <strong>Prices seen</strong> (filled: paid, open: asked)
      </figcaption>
      <svg
        viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
        role="img"
        aria-label="Prices seen of such machines and what to ask; the table below says the same"
      >
        <line class="axis" x1={0} x2={WIDTH} y1={HEIGHT - 20} y2={HEIGHT - 20} />
        {(
          [
            ['ask', advice.ask, 'line'],
            ['lowest', advice.reservationPrice, 'now'],
          ] as const
        ).map(([name, amount, kind]) => (
          <>
            <line class={kind} x1={0} x2={WIDTH - 110} y1={y(Number(amount))} y2={y(Number(amount))} />
            <text x={WIDTH - 106} y={y(Number(amount)) + (name === 'ask' ? 2 : 10)}>
              {name} {say.money(amount)}
            </text>
          </>
        ))}
        {shown.map((one) => (
          <circle
            class={one.priceKind === 'sold' ? 'dot' : 'ring'}
            cx={x(one.seenDate)}
            cy={y(Number(one.price))}
            r={5}
          />
        ))}
        <text x={0} y={HEIGHT - 5}>
          {say.fullDay(new Date(oldest).toISOString().slice(0, 10))}
        </text>
        <text x={WIDTH - 130} y={HEIGHT - 5}>
          today
        </text>
      </svg>
      <details>
        <summary>The same as a table</summary>
        <Table
          caption="Prices seen of such machines"
          rows={shown}
          columns={[
            { head: 'Machine', cell: (one) => `${one.maker} ${one.model ?? ''}` },
            { head: 'Price', number: true, cell: (one) => say.money(one.price) },
            { head: 'It was', cell: (one) => (one.priceKind === 'sold' ? 'paid' : 'asked') },
            { head: 'Condition', cell: (one) => conditions[one.condition as keyof typeof conditions] },
            { head: 'Seen', cell: (one) => say.fullDay(one.seenDate) },
          ]}
        />
      </details>
    </figure>
  );
};
