/** What was found and done, to read and to print. Without any price. */
import { DocumentLink, Listing } from '../../desk/document/document.shapes.js';
import { StartingPoint } from '../../desk/handover/starting-point.shapes.js';
import { machineName } from '../../machines/machine-name.js';
import { Facts, Go, Table } from '../frame/components.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { machineKinds, verdicts } from '../frame/words.js';
import { DocumentLinks, ListingText } from './document-links.js';
import { jobOf } from './load-machine.js';

async function show(view: View) {
  const job = await jobOf(view);
  const point = await view.read('startingPoint', StartingPoint, { id: job.id });
  const links = view.owns ? (await view.list('documentLinks', DocumentLink, { jobId: job.id })).items : [];
  const listing = view.owns ? await view.read('listing', Listing, { id: job.id }) : null;
  const { machine } = point;
  const { say } = view;
  const carried = (status: string): string =>
    point.equipment
      .filter((one) => one.status === status)
      .map((one) => one.name + (one.note ? ` (${one.note})` : ''))
      .join(', ');
  return {
    title: `Papers of job ${job.number}`,
    answer: `${machineName(machine)}: what was found, done and fitted.`,
    doing: (
      <>
        <button data-print="yes" class="quiet">
          Print
        </button>
        <Go view={view} path={`/machine/${job.number}/machine.pdf`} button>
          For the buyer, with pictures
        </Go>
      </>
    ),
    rest: (
      <>
        {point.asFound ? (
          <p class="caution">
            <strong>{point.asFound.text}</strong> {point.asFound.record} {point.asFound.note}
          </p>
        ) : null}
        <Facts
          facts={[
            ['Kind', machineKinds[machine.kind]],
            ['Serial number', machine.serial],
            ['Year', machine.yearEstimate],
            ['Engine', machine.engine],
            [
              'Clearing width',
              machine.clearingWidthMillimetres ? say.show('length', machine.clearingWidthMillimetres) : null,
            ],
            ['Fitted', carried('fitted')],
            ['Taken off', carried('removed')],
            ['Missing', carried('missing')],
            ['Written', say.fullDay(point.writtenOn)],
          ]}
        />
        <Table
          caption="What was found"
          rows={point.findings}
          empty="Nothing was found."
          columns={[
            { head: 'On', cell: (one) => `${one.component}${one.position ? `, ${one.position}` : ''}` },
            { head: 'What', cell: (one) => one.observation },
            { head: 'Measured', cell: (one) => (one.measuredValue === null ? '' : `${one.measuredValue} ${one.unit}`) },
            {
              head: 'So',
              cell: (one) =>
                (one.verdict === 'serveOn' && one.withinLimits === false
                  ? 'serves on outside its limits'
                  : verdicts[one.verdict]) +
                (one.reason ? `: ${one.reason}` : '') +
                (point.notDoneFindingIds.includes(one.id) ? ' (not done)' : ''),
            },
          ]}
        />
        <Table
          caption="What was done"
          rows={point.workDone}
          empty="Nothing was done yet."
          columns={[
            { head: 'Work', cell: (one) => one.name },
            { head: 'Finished', cell: (one) => say.fullDay(one.finishedDate) },
          ]}
        />
        <Table
          caption="Parts fitted"
          rows={point.partsFitted}
          columns={[
            {
              head: 'Part',
              cell: (one) =>
                `${say.quantity(one.quantity)} × ${one.name}${one.inPlaceOf ? `, in place of ${one.inPlaceOf}` : ''}`,
            },
            { head: 'Designation', cell: (one) => one.fastener },
            { head: 'Fitted', cell: (one) => say.fullDay(one.fittedOn) },
          ]}
        />
        <Table
          caption="Coats"
          rows={point.coats}
          columns={[
            { head: 'On', cell: (one) => `${one.surface}, coat ${one.coatNumber}` },
            { head: 'Paint', cell: (one) => one.product },
            { head: 'Put on', cell: (one) => say.fullDay(one.appliedOn) },
            {
              head: 'Film',
              cell: (one) => (one.dryFilmMicrometres === null ? '' : say.show('film', one.dryFilmMicrometres)),
            },
          ]}
        />
        <Table
          caption="Safety checks"
          rows={point.safetyChecks}
          columns={[
            { head: 'Check', cell: (one) => one.title },
            { head: 'Result', cell: (one) => (one.passed ? 'passed' : 'failed') },
            { head: 'On', cell: (one) => say.fullDay(one.checkedDate) },
            { head: 'By', cell: (one) => one.checkedBy },
          ]}
        />
        {point.safetyMissing.length > 0 ? (
          <p class="caution">Not passed: {point.safetyMissing.map((one) => one.title).join(', ')}.</p>
        ) : null}
        {point.asFound && point.safetyMissing.length > 0 ? <p>What is not in that table was not checked.</p> : null}
        {point.workSkipped.length > 0 ? (
          <p>Left out: {point.workSkipped.map((one) => `${one.name} (${one.reason})`).join('; ')}.</p>
        ) : null}
        {point.workLeft.length > 0 ? <p>Still to do: {point.workLeft.join(', ')}.</p> : null}
        <Table
          caption="What to look at when"
          rows={point.maintenance}
          columns={[
            { head: 'What', cell: (one) => one.title },
            { head: 'When', cell: (one) => say.sentence(one.nextDue) },
            { head: 'How', cell: (one) => one.text },
          ]}
        />
        <ul class="links">
          <li>
            <Go view={view} path={`/machine/${job.number}/maintenance.ics`}>
              The maintenance, for a calendar
            </Go>
          </li>
        </ul>
        {view.owns ? <DocumentLinks view={view} job={job} links={links} /> : null}
        {listing ? <ListingText listing={listing} /> : null}
      </>
    ),
  };
}

export const papersPage: Page = { path: '/machine/:number/papers', show };
