/** One machine's price: what to ask, the steps down, offered and sold. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { SafetyStatus } from '../../diagnosis/diagnosis.shapes.js';
import { DomainError } from '../../platform/errors.js';
import { priceReaders } from '../../platform/operation/operation.js';
import { PriceAdvice } from '../../resale/price.shapes.js';
import { Comparable, Offer, Sale } from '../../resale/resale.shapes.js';
import { Act, Fold, Go, MoneyField, Reasons, Table, TextField, When } from '../frame/components.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { machineOf } from '../machine/load-machine.js';
import { PriceDrawing } from './price-drawing.js';

type Advice = z.output<typeof PriceAdvice>;

const Selling: FC<{ view: View; jobId: string; ask: string | null; standing: z.output<typeof Offer> | undefined }> = ({
  view,
  jobId,
  ask,
  standing,
}) => (
  <>
    {ask ? (
      <div class="do">
        <Act
          view={view}
          act="offer"
          about="advised"
          fields={{ job: jobId, ask }}
          label={standing ? `Ask ${view.say.money(ask)} now` : `Offer at ${view.say.money(ask)}`}
          quiet={Boolean(standing)}
        />
      </div>
    ) : null}
    <Fold
      title={standing ? 'Another price, or withdraw' : 'Offer at another price'}
      open={view.refusal?.act === 'offer'}
    >
      <Act view={view} act="offer" about="own" fields={{ job: jobId }} label="Offer">
        <MoneyField view={view} act="offer" about="own" name="ask" label="Ask" required value={standing?.askPrice} />
        <TextField view={view} act="offer" about="own" name="channel" label="Where it is offered" max={120} />
        <When view={view} act="offer" about="own" days />
      </Act>
      {standing ? (
        <Act view={view} act="withdraw" fields={{ offer: standing.id }} label="Withdraw the offer" quiet />
      ) : null}
    </Fold>
    <Fold title="It is sold" open={view.refusal?.act === 'sold'}>
      <Act view={view} act="sold" fields={{ job: jobId }} label="Sold">
        <MoneyField view={view} act="sold" name="price" label="The buyer paid" required value={standing?.askPrice} />
        <MoneyField view={view} act="sold" name="sellingCost" label="Selling it cost" />
        <TextField view={view} act="sold" name="buyer" label="Buyer" max={120} />
        <TextField view={view} act="sold" name="channel" label="Through" max={120} value={standing?.channel} />
        <When view={view} act="sold" days />
      </Act>
    </Fold>
  </>
);

async function adviceOf(view: View, jobId: string): Promise<Advice | string> {
  try {
    return await view.read('priceAdvice', PriceAdvice, { id: jobId });
  } catch (error) {
    if (error instanceof DomainError) return error.message;
    throw error;
  }
}

async function show(view: View) {
  const { say } = view;
  const { job, machine } = await machineOf(view);
  const advice = await adviceOf(view, job.id);
  const offers = (await view.list('offers', Offer, { jobId: job.id })).items;
  const standing = offers.find((one) => !one.withdrawnDate);
  const [sale] = (await view.list('sales', Sale, { jobId: job.id })).items.filter((one) => !one.reversedDate);
  const safety = await view.read('safetyStatus', SafetyStatus, { id: job.id });
  const comparables = (await view.list('comparables', Comparable, { kind: machine.kind })).items;
  const known = typeof advice === 'string' ? null : advice;
  return {
    title: `Worth of job ${job.number}`,
    priced: true,
    answer: sale
      ? `Sold ${say.onDay(sale.soldDate)} for ${say.money(sale.price ?? '0')}.`
      : known
        ? `Ask ${say.money(known.ask)}; take an offer of ${say.money(known.acceptOffersFrom)} or more.`
        : 'What to ask is not known.',
    more: (
      <>
        <p>
          Job {job.number}, {job.title}
          {standing ? `. Offered at ${say.money(standing.askPrice ?? '0')} since ${say.day(standing.offeredDate)}` : ''}
          .
        </p>
        {known ? (
          <p>
            It should bring {say.about(known.expected.likely)}, between {say.money(known.expected.low)} and{' '}
            {say.money(known.expected.high)}, offered from {say.day(known.expectedDate)}. That leaves{' '}
            {say.money(known.expectedMargin)}
            {known.earningsPerHour ? `, ${say.money(known.earningsPerHour)} an hour` : ''}.
          </p>
        ) : (
          <p>{typeof advice === 'string' ? advice : null}</p>
        )}
        {!sale && !safety.safe ? (
          <p class="caution">
            Safety checks have not passed yet.{' '}
            <Go view={view} path={`/machine/${job.number}`}>
              Make them
            </Go>{' '}
            before it is offered.
          </p>
        ) : null}
      </>
    ),
    rest: (
      <>
        {view.owns && !sale && !job.closedDate ? (
          <Selling view={view} jobId={job.id} ask={known?.ask ?? null} standing={standing} />
        ) : null}
        {known ? (
          <>
            <PriceDrawing view={view} advice={known} comparables={comparables} />
            <Table
              caption="If it has not sold, come down"
              rows={known.markdowns}
              columns={[
                { head: 'From', cell: (step) => say.day(step.onDate) },
                { head: 'Ask', number: true, cell: (step) => say.money(step.askPrice) },
                { head: 'Sold before that', cell: (step) => say.chance(step.probabilitySoldBefore) },
              ]}
            />
            <Reasons view={view} reasons={[...known.reservationReasons, ...known.reasons]} title="Why so?" />
          </>
        ) : null}
      </>
    ),
  };
}

export const pricePage: Page = { path: '/worth/:number', roles: priceReaders, show };
