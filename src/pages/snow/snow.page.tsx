/** Before the snow: who is ready, what decides, how many more, and what a change would do. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { Capacity } from '../../plan/answers/capacity.shapes.js';
import { Readiness } from '../../plan/answers/plan.shapes.js';
import { WhatIf } from '../../plan/answers/what-if.shapes.js';
import { Fold, Go, Reasons, Table } from '../frame/components.js';
import { capital, inWords, plural } from '../frame/format.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { machineKinds } from '../frame/words.js';
import { SnowDrawing } from './snow-drawing.js';

type Answer = z.output<typeof Readiness>;

const changes = [
  { label: 'An hour more each day', query: { extraMinutesADay: '60' } },
  { label: 'One more spray area', query: { extraPlace: 'sprayArea' } },
  { label: 'One more curing rack', query: { extraPlace: 'cureRack' } },
  { label: 'One more bench', query: { extraPlace: 'bench' } },
] as const;

async function changed(view: View): Promise<z.output<typeof WhatIf> | null> {
  const { extraMinutesADay, extraPlace, withoutJobId, offFrom, offTo } = view.query;
  if (!extraMinutesADay && !extraPlace && !withoutJobId && !offFrom) return null;
  return view.read('whatIf', WhatIf, {
    ...(extraMinutesADay ? { extraMinutesADay: Number(extraMinutesADay) } : {}),
    ...(extraPlace ? { extraPlace } : {}),
    ...(withoutJobId ? { withoutJobId } : {}),
    ...(offFrom ? { offFrom, offTo: offTo || offFrom } : {}),
  });
}

function answerOf(view: View, readiness: Answer): string {
  const { jobs, expectedReady, firstSnowMedian, readyBy } = readiness;
  const inSeason = jobs.filter((job) => job.probability !== null || job.ready !== null);
  if (!firstSnowMedian || !readyBy) return 'When it snows here is not known.';
  if (inSeason.length === 0)
    return `No machine is waiting for the snow, which comes about ${view.say.day(firstSnowMedian)}.`;
  const many = expectedReady === null ? (readiness.readyCount ?? 0) : Math.round(expectedReady);
  return `${capital(inWords(many))} of ${inWords(inSeason.length)} will likely be ready; be done by ${view.say.day(readyBy)}.`;
}

const Change: FC<{ view: View; readiness: Answer; result: z.output<typeof WhatIf> | null }> = ({
  view,
  readiness,
  result,
}) => (
  <>
    <h2>What if</h2>
    {result ? (
      <div class="card">
        <h2 class="name">{capital(view.say.sentence(result.change))}</h2>
        <p>
          {result.expectedReadyBefore !== null && result.expectedReadyAfter !== null
            ? `${result.expectedReadyAfter.toFixed(1)} machines ready instead of ${result.expectedReadyBefore.toFixed(1)}.`
            : 'What it does for the season is not known.'}
        </p>
        <Table
          caption="Machine by machine"
          rows={result.jobs.flatMap(({ meanDays, ...job }) =>
            meanDays !== null && Math.abs(meanDays) >= 0.5 ? [{ ...job, meanDays }] : [],
          )}
          empty="No machine moves by a day."
          columns={[
            { head: 'Machine', cell: (job) => `${job.jobNumber}: ${job.jobTitle}` },
            {
              head: 'Moves',
              cell: (job) =>
                `${plural(Math.max(1, Math.round(Math.abs(job.meanDays))), 'day')} ${job.meanDays < 0 ? 'sooner' : 'later'}`,
            },
            { head: 'Safe to promise', cell: (job) => (job.p80After ? view.say.day(job.p80After) : 'not known') },
          ]}
        />
        <Reasons view={view} reasons={result.reasons} />
      </div>
    ) : null}
    <ul class="links">
      {changes.map((change) => (
        <li>
          <Go view={view} path="/snow" query={{ ...change.query }}>
            {change.label}
          </Go>
        </li>
      ))}
    </ul>
    <Fold title="Days off, or giving one up">
      <form method="get" action={view.to('/snow')}>
        <label class="field short">
          <span>Off from</span>
          <input type="date" name="offFrom" />
        </label>
        <label class="field short">
          <span>to</span>
          <input type="date" name="offTo" />
        </label>
        <label class="field">
          <span>Or without</span>
          <select name="withoutJobId">
            <option value="">none given up</option>
            {readiness.jobs.map((job) => (
              <option value={job.jobId}>
                {job.jobNumber}: {job.jobTitle}
              </option>
            ))}
          </select>
        </label>
        <button>Try it</button>
      </form>
    </Fold>
  </>
);

/** How many more at each chance, and the last day for each. */
const CapacityTable: FC<{ view: View; capacity: z.output<typeof Capacity> }> = ({ view, capacity }) => (
  <>
    <Table
      caption="How many more, and until when to take each in"
      rows={capacity.series.flatMap((series) => series.levels.map((level) => ({ ...level, kind: series.kind })))}
      empty="That is not known."
      columns={[
        { head: 'Kind', cell: (row) => (row.kind ? capital(machineKinds[row.kind]) : 'Mixed') },
        { head: 'How sure', cell: (row) => view.say.chance(row.probability) },
        { head: 'More', number: true, cell: (row) => String(row.count) },
        { head: 'Until', cell: (row) => row.lastIntakeDates.map((date) => view.say.day(date)).join('; ') || '–' },
      ]}
    />
    <Reasons view={view} reasons={capacity.reasons} />
  </>
);

async function show(view: View) {
  const { say } = view;
  const readiness = await view.read('readiness', Readiness);
  const result = await changed(view);
  return {
    title: 'Before the snow',
    answer: answerOf(view, readiness),
    priced: view.seesPrices,
    more: (
      <>
        {readiness.firstSnowMedian ? (
          <p>
            First snow about {say.day(readiness.firstSnowMedian)}
            {readiness.firstSnowEarly && readiness.firstSnowLate
              ? `; in eight winters of ten between ${say.day(readiness.firstSnowEarly)} and ${say.day(readiness.firstSnowLate)}`
              : ''}
            .
          </p>
        ) : null}
        <p>What stands most in the way: {say.sentence(readiness.bottleneck)}.</p>
      </>
    ),
    rest: (
      <>
        <SnowDrawing view={view} readiness={readiness} />
        <Table
          caption="Machine by machine"
          rows={readiness.jobs}
          empty="No job is open."
          columns={[
            {
              head: 'Machine',
              cell: (job) => (
                <Go view={view} path={`/machine/${job.jobNumber}`}>
                  {job.jobNumber}: {job.jobTitle}
                </Go>
              ),
            },
            { head: 'Done about', cell: (job) => (job.p50Date ? say.day(job.p50Date) : 'not known') },
            { head: 'Safe to promise', cell: (job) => (job.p80Date ? say.day(job.p80Date) : 'not known') },
            { head: 'Ready', cell: (job) => (job.probability === null ? 'not known' : say.chance(job.probability)) },
            ...(view.seesPrices
              ? [
                  {
                    head: 'At risk',
                    number: true,
                    cell: (job: Answer['jobs'][number]) => (job.marginAtRisk ? say.money(job.marginAtRisk) : ''),
                  },
                ]
              : []),
          ]}
        />
        {readiness.topPriorities.length > 0 ? (
          <>
            <h2>Where a day counts most</h2>
            <ul>
              {readiness.topPriorities.map((job) => (
                <li>
                  Job {job.jobNumber}, {job.jobTitle}: {say.sentence(job.what)}
                </li>
              ))}
            </ul>
          </>
        ) : null}
        <h2>How many more</h2>
        {readiness.capacity.length === 0 ? <p>That is not known.</p> : null}
        <ul>
          {readiness.capacity.map((one) => (
            <li>
              {machineKinds[one.kind]}:{' '}
              {one.moreThatFit === null ? 'not known' : `${inWords(one.moreThatFit)} more, four times in five`}
              {one.moreThatFit && one.lastFinishedDate ? `, the last done about ${say.day(one.lastFinishedDate)}` : ''}
            </li>
          ))}
        </ul>
        {view.query.more ? (
          <CapacityTable view={view} capacity={await view.read('capacity', Capacity)} />
        ) : readiness.readyBy ? (
          <p>
            <Go view={view} path="/snow" query={{ more: 'yes' }}>
              Until when to take each in, and how sure
            </Go>
          </p>
        ) : null}
        {readiness.scenarios.length > 0 ? (
          <ul>
            {readiness.scenarios.map((one) => (
              <li>
                {capital(say.sentence(one.change))}:{' '}
                {one.additionalMachines > 0 ? `${inWords(one.additionalMachines)} more` : 'no more'}
              </li>
            ))}
          </ul>
        ) : null}
        <Change view={view} readiness={readiness} result={result} />
        <Reasons view={view} reasons={readiness.reasons} title="Where that comes from" />
      </>
    ),
  };
}

export const snowPage: Page = { path: '/snow', show };
