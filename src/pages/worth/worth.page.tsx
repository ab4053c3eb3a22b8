/** What is it worth: the machines with what to ask for each, what to pay for another, what is tied up. */
import type { z } from 'zod';
import { Briefing } from '../../desk/briefing/briefing.shapes.js';
import { priceReaders } from '../../platform/operation/operation.js';
import { Comparable } from '../../resale/resale.shapes.js';
import {
  Act,
  Choice,
  Fold,
  Go,
  MoneyField,
  QuantityField,
  Select,
  Table,
  TextField,
  When,
} from '../frame/components.js';
import { capital, inWords } from '../frame/format.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { conditions, jobStatuses, machineKinds, options } from '../frame/words.js';

type BriefingJob = z.output<typeof Briefing>['jobs'][number];

const SeenForm = ({ view }: { view: View }) => {
  const act = 'seen';
  return (
    <Fold title="A price you saw" open={view.refusal?.act === act}>
      <Act view={view} act={act} label="Note it">
        <Choice view={view} act={act} name="kind" label="Kind" required options={options(machineKinds)} />
        <MoneyField view={view} act={act} name="price" label="Price" required />
        <Choice
          view={view}
          act={act}
          name="priceKind"
          label="It was"
          value="asking"
          options={options({ asking: 'asked', sold: 'paid' })}
        />
        <TextField view={view} act={act} name="maker" label="Maker" required max={80} />
        <TextField view={view} act={act} name="model" label="Model" max={80} />
        <Select view={view} act={act} name="condition" label="Condition" value="3" options={options(conditions)} />
        <TextField view={view} act={act} name="year" label="Year" inputmode="numeric" max={4} />
        <QuantityField view={view} act={act} name="width" label="Clearing width" quantity="length" />
        <TextField view={view} act={act} name="place" label="Where" max={120} />
        <When view={view} act={act} days />
      </Act>
    </Fold>
  );
};

async function show(view: View) {
  const { say } = view;
  const briefing = await view.read('briefing', Briefing);
  const ready = briefing.jobs.filter((job) => ['finished', 'offered'].includes(job.status));
  const others = briefing.jobs.filter((job) => !ready.includes(job));
  const seen = (await view.list('comparables', Comparable, { first: 30 })).items;
  const tied = briefing.jobs.reduce((sum, job) => sum + Number(job.cashCost ?? 0), 0);
  const columns = [
    {
      head: 'Machine',
      cell: (job: BriefingJob) => (
        <Go view={view} path={`/worth/${job.number}`}>
          {job.number}: {job.title}
        </Go>
      ),
    },
    { head: 'It is', cell: (job: BriefingJob) => jobStatuses[job.status] ?? job.status },
    { head: 'Cost so far', number: true, cell: (job: BriefingJob) => (job.fullCost ? say.money(job.fullCost) : '') },
    { head: 'Ask', number: true, cell: (job: BriefingJob) => (job.ask ? say.money(job.ask) : 'not known') },
  ];
  return {
    title: 'What is it worth',
    priced: true,
    answer:
      ready.length === 0
        ? `Nothing is ready to sell; ${say.money(tied.toFixed(2))} are tied up in ${inWords(briefing.jobs.length)} machines.`
        : `${capital(inWords(ready.length))} ${ready.length === 1 ? 'machine is' : 'machines are'} ` +
          `ready to sell; ${say.money(tied.toFixed(2))} are tied up.`,
    doing: (
      <Go view={view} path="/worth/bid" button>
        What to pay for one I saw
      </Go>
    ),
    rest: (
      <>
        <Table caption="Ready to sell" rows={ready} columns={columns} />
        <Table caption="In work" rows={others} columns={columns} empty="No machine is in work." />
        <Table
          caption="What to pay for another, at most"
          rows={briefing.bids}
          columns={[
            { head: 'Kind', cell: (bid) => machineKinds[bid.kind] },
            {
              head: 'At most',
              number: true,
              cell: (bid) => (bid.highestBid ? say.money(bid.highestBid) : 'not known'),
            },
            {
              head: 'It should bring',
              number: true,
              cell: (bid) => (bid.expectedPrice ? say.about(bid.expectedPrice) : ''),
            },
          ]}
        />
        <p>
          <Go view={view} path="/worth/business">
            What the year earned, and its tax
          </Go>
        </p>
        {view.owns ? <SeenForm view={view} /> : null}
        {seen.length > 0 ? (
          <Fold title="Prices seen lately">
            <Table
              caption="Prices seen"
              rows={seen}
              columns={[
                { head: 'Machine', cell: (one) => `${one.maker} ${one.model ?? ''}` },
                { head: 'Price', number: true, cell: (one) => (one.price ? say.money(one.price) : '') },
                { head: 'It was', cell: (one) => (one.priceKind === 'sold' ? 'paid' : 'asked') },
                { head: 'Seen', cell: (one) => say.fullDay(one.seenDate) },
              ]}
            />
          </Fold>
        ) : null}
      </>
    ),
  };
}

export const worthPage: Page = { path: '/worth', roles: priceReaders, show };
