/** How far a job goes: what doing all that was found would change, and every scope with its date, hours and money. */
import type { z } from 'zod';
import { JobProposals, ProposalsDecided } from '../../desk/proposals/proposals.shapes.js';
import { HarvestList } from '../../desk/scope/options.queries.js';
import { ScopeOptions } from '../../desk/scope/scope.shapes.js';
import { Finding } from '../../diagnosis/diagnosis.shapes.js';
import { workers } from '../../platform/operation/operation.js';
import { Task } from '../../work/work.shapes.js';
import { Act, Facts, Fold, Go, Reasons, TextField, Tick } from '../frame/components.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { scopes } from '../frame/words.js';
import { machineOf } from './load-machine.js';
import { WorkEffect } from './work-effects.js';

async function showWork(view: View) {
  const { job } = await machineOf(view);
  const { proposals } = await view.read('jobProposals', JobProposals, { id: job.id });
  const tried =
    proposals.length > 0 && view.writes
      ? await view.read('previewProposals', ProposalsDecided, {
          id: job.id,
          decisions: proposals.map((one) => ({ findingId: one.findingId, decision: 'accept' })),
        })
      : null;
  return {
    title: 'What it would change',
    answer:
      proposals.length === 0
        ? `Nothing is left to decide on job ${job.number}.`
        : `Doing all that was found on job ${job.number}, ${job.title}:`,
    priced: view.seesPrices,
    doing:
      proposals.length > 0 && view.writes ? (
        <Act
          view={view}
          act="decide"
          fields={{
            job: job.id,
            findings: proposals.map((one) => one.findingId).join(' '),
            decision: 'accept',
            to: `/machine/${job.number}`,
          }}
          label="Do all of it"
        />
      ) : null,
    rest: (
      <>
        <WorkEffect view={view} effects={tried?.effects ?? null} />
        {tried ? (
          <>
            <h2>What would be added</h2>
            <ul>
              {tried.tasks.map((task) => (
                <li>
                  {task.name}: {view.say.work(task.handsOnMinutes)}
                </li>
              ))}
              {tried.partsNeeded.map((part) => (
                <li>{part}</li>
              ))}
            </ul>
          </>
        ) : null}
        <p>
          <Go view={view} path={`/machine/${job.number}`}>
            Back to the machine
          </Go>
        </p>
      </>
    ),
  };
}

type Option = z.output<typeof ScopeOptions>['options'][number];

const meanings: Record<Option['scope'], string> = {
  full: 'Everything the route has: stripped, mended, painted.',
  mechanical: 'Mended and tried out; the paint stays as it is.',
  mendOneFault: 'Only what you choose below is mended, then it is tried out.',
  sellAsFound: 'Nothing more is done: fuel out, spark plug wire off, sold as not safe to run.',
  stripForParts: 'It becomes a donor: what others need comes off, the rest is scrap.',
};

async function showScope(view: View) {
  const { job, machine } = await machineOf(view);
  const { options, best, reasons } = await view.read('scopeOptions', ScopeOptions, { id: job.id });
  const findings = (await view.list('findings', Finding, { jobId: job.id })).items.filter(
    (one) => ['repair', 'replace', 'remove'].includes(one.verdict) && one.decision !== 'refused',
  );
  const skipped = (await view.list('tasks', Task, { jobId: job.id, status: 'skipped', includeArchived: true })).items;
  const better = best && best !== job.scope && view.seesPrices ? `; ${scopes[best]} would leave most` : '';
  const harvest =
    job.scope === 'stripForParts' ? await view.read('harvestList', HarvestList, { id: machine.id }) : null;
  return {
    title: 'How far to go',
    answer: `Job ${job.number}, ${job.title}: ${scopes[job.scope]}${better}.`,
    priced: view.seesPrices,
    rest: (
      <>
        {view.seesPrices ? <Reasons view={view} reasons={reasons} title="How is that compared?" /> : null}
        {options.map((one) => (
          <section>
            <h2>
              {scopes[one.scope]}
              {one.chosen ? ' (chosen)' : ''}
            </h2>
            <p>{meanings[one.scope]}</p>
            <Facts
              facts={[
                ['Work to do', view.say.work(one.handsOnMinutes)],
                ['Likely done', one.expectedDate && view.say.day(one.expectedDate)],
                ['Still to come', one.estimateToComplete && view.say.money(one.estimateToComplete)],
                ['Should bring', one.brings && view.say.money(one.brings)],
                ['Leaves from here on', one.margin && view.say.money(one.margin)],
              ]}
            />
            {view.seesPrices ? <Reasons view={view} reasons={one.reasons} /> : null}
            {view.owns && !job.closedDate && (!one.chosen || one.scope === 'mendOneFault') ? (
              <Act
                view={view}
                act="scope"
                about={one.scope}
                fields={{ job: job.id, scope: one.scope }}
                label="Go so far"
              >
                {one.scope === 'mendOneFault'
                  ? findings.map((finding) => (
                      <label class="choice">
                        <span>
                          <input type="checkbox" name="fault" value={finding.id} /> {finding.component}:{' '}
                          {finding.observation}
                        </span>
                      </label>
                    ))
                  : null}
                <TextField view={view} act="scope" about={one.scope} name="reason" label="Why" max={300} />
              </Act>
            ) : null}
            {one.scope === 'sellAsFound' && one.chosen && view.writes && !job.asFoundDate ? (
              <Act view={view} act="asFound" fields={{ job: job.id }} label="It is so">
                <Tick view={view} act="asFound" name="fuelDrained" label="tank and carburettor are empty" />
                <Tick view={view} act="asFound" name="plugWireOff" label="the spark plug wire is off and tied back" />
                <TextField view={view} act="asFound" name="note" label="What was looked at, what is known" long />
              </Act>
            ) : null}
          </section>
        ))}
        {job.asFoundDate ? (
          <p>
            Recorded as found {view.say.onDay(job.asFoundDate)} by {job.asFoundBy}: not safe to run.
          </p>
        ) : null}
        {harvest ? (
          <>
            <h2>What to take off</h2>
            {harvest.parts.length === 0 ? <p>Nothing on it is needed.</p> : null}
            <ul class="rows">
              {harvest.parts.map((one) => (
                <li>
                  {view.say.quantity(one.quantity)} × {one.partName}: {view.say.work(one.takeMinutes)}
                  {one.value ? `, worth ${view.say.money(one.value)}` : ''}
                  <p>{one.reasons.map((reason) => view.say.sentence(reason)).join(' ')}</p>
                </li>
              ))}
            </ul>
            <p>{harvest.remainder}</p>
          </>
        ) : null}
        {skipped.length > 0 ? (
          <Fold title={`Left out: ${skipped.length}`}>
            <ul class="rows">
              {skipped.map((task) => (
                <li>
                  {task.name}: {task.skippedReason}
                  {view.writes && !job.closedDate ? (
                    <Act
                      view={view}
                      act="unskip"
                      about={task.id}
                      fields={{ task: task.id }}
                      label="Take it in again"
                      quiet
                    />
                  ) : null}
                </li>
              ))}
            </ul>
          </Fold>
        ) : null}
        <Fold title="Something is off it, or on it" open={view.refusal?.act === 'equipment'}>
          <Act view={view} act="equipment" fields={{ machine: machine.id }} label="Note it">
            <TextField view={view} act="equipment" name="name" label="What" required max={80} />
            <Tick view={view} act="equipment" name="added" label="it was put on, not taken off" />
            <TextField view={view} act="equipment" name="reason" label="Why" max={200} />
          </Act>
        </Fold>
      </>
    ),
  };
}

export const workPage: Page = { path: '/machine/:number/work', show: showWork };
export const scopePage: Page = { path: '/machine/:number/scope', roles: workers, show: showScope };
