/** The plan as lanes, one a machine: work, coats and waits over the coming weeks. A table beside it says the same. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { Timeline } from '../../plan/answers/timeline.queries.js';
import { Table } from '../frame/components.js';
import type { View } from '../frame/view.js';

const WIDTH = 380;
const LANE = 40;
const HEAD = 24;
const LABEL = 18;
const coatWords = /\b(prime|coat|colour|clear)\b/i;

type Lanes = z.output<typeof Timeline>;

export async function planLanes(view: View, jobId?: string): Promise<{ timeline: Lanes; jobId?: string }> {
  return { timeline: await view.read('timeline', Timeline), ...(jobId ? { jobId } : {}) };
}

export const PlanLanes: FC<{ view: View; timeline: Lanes; jobId?: string }> = ({ view, timeline, jobId }) => {
  const jobs = timeline.jobs.filter((job) => (jobId ? job.jobId === jobId : true) && job.bars.length > 0);
  if (jobs.length === 0) return null;
  const from = Date.parse(`${timeline.startDate}T00:00:00Z`);
  const until = Date.parse(`${timeline.endDate}T00:00:00Z`) + 86_400_000;
  const x = (moment: string) => Math.max(0, Math.min(WIDTH, ((Date.parse(moment) - from) / (until - from)) * WIDTH));
  const weeks: number[] = [];
  for (let day = from; day < until; day += 7 * 86_400_000) weeks.push(day);
  const height = HEAD + jobs.length * LANE;
  return (
    <figure>
      <figcaption>
        <strong>The next four weeks</strong> (solid: work, brown: coats, pale: curing and waiting)
      </figcaption>
      <svg
        viewBox={`0 0 ${WIDTH} ${height}`}
        role="img"
        aria-label="The plan as lanes, one a machine; the table below says the same"
      >
        {weeks.map((day) => {
          const date = new Date(day).toISOString().slice(0, 10);
          const at = ((day - from) / (until - from)) * WIDTH;
          return (
            <>
              <line class="grid" x1={at} x2={at} y1={0} y2={height} />
              <text x={at + 3} y={14}>
                {view.say.fullDay(date).slice(0, -5)}
              </text>
            </>
          );
        })}
        {jobs.map((job, lane) => {
          const y = HEAD + lane * LANE;
          return (
            <>
              <line class="grid" x1={0} x2={WIDTH} y1={y} y2={y} />
              <text x={3} y={y + 14}>
                {job.jobNumber} {job.jobTitle.slice(0, 45)}
              </text>
              {job.bars.map((bar) => (
                <rect
                  class={bar.curing ? 'wait' : coatWords.test(bar.name) ? 'coat' : 'work'}
                  x={x(bar.from)}
                  width={Math.max(2, x(bar.to) - x(bar.from))}
                  y={y + LABEL}
                  height={LANE - LABEL - 6}
                />
              ))}
            </>
          );
        })}
      </svg>
      <details>
        <summary>The same as a table</summary>
        <Table
          caption="Tasks in the next four weeks"
          rows={jobs.flatMap((job) => job.bars.map((bar) => ({ ...bar, title: job.jobTitle })))}
          columns={[
            { head: 'Task', cell: (bar) => bar.name },
            { head: 'Job', cell: (bar) => bar.jobNumber },
            { head: 'From', cell: (bar) => view.say.moment(bar.from) },
            { head: 'To', cell: (bar) => view.say.moment(bar.to) },
          ]}
        />
      </details>
    </figure>
  );
};
