/** The chance that it has snowed, day by day, and the machines on it at the days they are likely done. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { at, last as lastOf } from '../../engine/look-up.js';
import type { Readiness } from '../../plan/answers/plan.shapes.js';
import { Table } from '../frame/components.js';
import type { View } from '../frame/view.js';

const WIDTH = 380;
const HEIGHT = 250;

export const SnowDrawing: FC<{ view: View; readiness: z.output<typeof Readiness> }> = ({ view, readiness }) => {
  const { say } = view;
  const points = readiness.curve.flatMap(({ probabilityOfSnow, ...point }) =>
    probabilityOfSnow === null ? [] : [{ ...point, probabilityOfSnow }],
  );
  const jobs = readiness.jobs.flatMap(({ p50Date, ...job }) => (p50Date ? [{ ...job, p50Date }] : []));
  if (points.length < 2) return null;
  const time = (date: string) => Date.parse(date);
  const first = Math.min(time(at(points, 0).day), ...jobs.map((job) => time(job.p50Date)), time(readiness.asOf));
  const last = Math.max(time(lastOf(points).day), ...jobs.map((job) => time(job.p50Date)));
  const x = (date: string) => 6 + ((time(date) - first) / Math.max(1, last - first)) * (WIDTH - 12);
  const y = (probability: number) => HEIGHT - 30 - probability * (HEIGHT - 60);
  const path = points
    .map(
      (point, index) => `${index === 0 ? 'M' : 'L'}${x(point.day).toFixed(1)} ${y(point.probabilityOfSnow).toFixed(1)}`,
    )
    .join(' ');
  const chanceOn = (date: string) => [...points].reverse().find((point) => point.day <= date)?.probabilityOfSnow ?? 0;
  return (
    <figure>
      <figcaption>
        <strong>First snow and the machines</strong> (line: chance that it has snowed; dots: machines, by their number,
        where they are likely done)
      </figcaption>
      <svg
        viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
        role="img"
        aria-label="The chance of snow by day with each machine's likely completion; the table below says the same"
      >
        {[0, 0.5, 1].map((share) => (
          <>
            <line class="grid" x1={0} x2={WIDTH} y1={y(share)} y2={y(share)} />
            <text x={2} y={y(share) - 4}>
              {share === 0 ? 'no snow yet' : share === 1 ? 'it has snowed' : 'even chance'}
            </text>
          </>
        ))}
        {readiness.readyBy ? (
          <>
            <line class="now" x1={x(readiness.readyBy)} x2={x(readiness.readyBy)} y1={14} y2={HEIGHT - 24} />
            <text x={Math.min(WIDTH - 170, x(readiness.readyBy) + 4)} y={12}>
              be done by {say.day(readiness.readyBy)}
            </text>
          </>
        ) : null}
        <path class="line" d={path} />
        {jobs.map((job, index) => (
          <>
            <circle class="dot" cx={x(job.p50Date)} cy={y(chanceOn(job.p50Date))} r={6} />
            <text x={Math.min(WIDTH - 20, x(job.p50Date) - 7)} y={y(chanceOn(job.p50Date)) - 10 - (index % 3) * 13}>
              {job.jobNumber}
            </text>
          </>
        ))}
        <text x={2} y={HEIGHT - 6}>
          {say.fullDay(new Date(first).toISOString().slice(0, 10))}
        </text>
        <text x={WIDTH - 78} y={HEIGHT - 6}>
          {say.fullDay(new Date(last).toISOString().slice(0, 10))}
        </text>
      </svg>
      <details>
        <summary>The same as a table</summary>
        <Table
          caption="The chance that it has snowed"
          rows={points.filter((_, index) => index % Math.ceil(points.length / 20) === 0)}
          columns={[
            { head: 'By', cell: (point) => say.fullDay(point.day) },
            { head: 'Snow', cell: (point) => say.chance(point.probabilityOfSnow) },
            { head: 'Machines done', number: true, cell: (point) => point.expectedFinished.toFixed(1) },
          ]}
        />
      </details>
    </figure>
  );
};
