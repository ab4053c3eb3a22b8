/** Cost so far against what it will likely cost in all, as one bar. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import type { JobCost } from '../../cost/cost.shapes.js';
import { Reasons, Table } from '../frame/components.js';
import type { View } from '../frame/view.js';

const WIDTH = 380;

export const CostDrawing: FC<{ view: View; cost: z.output<typeof JobCost> }> = ({ view, cost }) => {
  const { say } = view;
  const full = Number(cost.fullCost ?? 0);
  const range = cost.estimateAtCompletion;
  const most = Math.max(full, Number(range?.high ?? 0), 1);
  const x = (amount: number) => Math.max(0, (amount / most) * (WIDTH - 2));
  const parts: [string, string | null][] = [
    ['Bought for', cost.purchase],
    ['Taken off it as parts', cost.harvested],
    ['Parts', cost.parts],
    ['Paint and other material', cost.consumables],
    ['Selling', cost.selling],
    ['Other', cost.other],
    ['Paid back by suppliers', cost.refunds],
    [`Work, ${say.work(cost.labourMinutes)}`, cost.labour],
    [`Space, ${cost.spaceDays} days`, cost.space],
  ];
  return (
    <>
      <h2>What it has cost</h2>
      <p>
        {cost.cashCost ? `Paid ${say.money(cost.cashCost)}; ` : ''}
        {cost.fullCost ? `with work and space ${say.money(cost.fullCost)}` : ''}
        {range
          ? `. When finished likely ${say.money(range.likely)}, between ${say.money(range.low)} and ${say.money(range.high)}`
          : ''}
        .
      </p>
      {range ? (
        <figure>
          <svg
            viewBox={`0 0 ${WIDTH} 64`}
            role="img"
            aria-label="Cost so far against the likely cost when finished; the table below says the same"
          >
            <rect class="wait" x={1} y={10} width={x(Number(range.likely))} height={26} />
            <rect class="work" x={1} y={10} width={x(full)} height={26} />
            <line class="axis" x1={x(Number(range.low))} x2={x(Number(range.high))} y1={46} y2={46} />
            <line class="now" x1={x(Number(range.likely))} x2={x(Number(range.likely))} y1={4} y2={52} />
            <text x={4} y={62}>
              so far
            </text>
            <text x={Math.min(WIDTH - 130, x(Number(range.likely)))} y={62}>
              likely when finished
            </text>
          </svg>
        </figure>
      ) : null}
      <details>
        <summary>The same as a table</summary>
        <Table
          caption="Cost so far"
          rows={parts.flatMap(([name, amount]) => (amount && Number(amount) !== 0 ? [{ name, amount }] : []))}
          columns={[
            { head: 'For', cell: ({ name }) => name },
            { head: 'Amount', number: true, cell: ({ amount }) => say.money(amount) },
          ]}
        />
        {cost.estimateToComplete ? (
          <Table
            caption="Still likely to come"
            rows={[
              { name: 'Work', amount: cost.estimateToComplete.labour },
              { name: 'Parts', amount: cost.estimateToComplete.parts },
              { name: 'Paint', amount: cost.estimateToComplete.paint },
              { name: 'Space', amount: cost.estimateToComplete.space },
            ]}
            columns={[
              { head: 'For', cell: ({ name }) => name },
              { head: 'Amount', number: true, cell: ({ amount }) => say.money(amount) },
            ]}
          />
        ) : null}
      </details>
      <Reasons view={view} reasons={cost.reasons} title="How that is computed" />
    </>
  );
};
