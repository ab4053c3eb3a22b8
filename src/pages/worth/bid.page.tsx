/** What to pay for a machine seen somewhere. */
import { DomainError } from '../../platform/errors.js';
import { priceReaders } from '../../platform/operation/operation.js';
import { BidAdvice } from '../../resale/price.shapes.js';
import { Reasons } from '../frame/components.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { machineKinds } from '../frame/words.js';

async function adviceFor(view: View) {
  const { kind, maker, haul, fees, parts, hours } = view.query;
  const { say } = view;
  if (!kind) return null;
  const haulKilometres = haul ? say.read('distance', haul) : undefined;
  const number = (text: string | undefined) =>
    text && Number.isFinite(Number(text.replace(',', '.'))) ? Number(text.replace(',', '.')) : undefined;
  const [feesPercent, handsOnHours] = [number(fees), number(hours)];
  try {
    return await view.read('bidAdvice', BidAdvice, {
      kind,
      ...(maker ? { maker } : {}),
      ...(haulKilometres === undefined ? {} : { haulKilometres }),
      ...(feesPercent === undefined ? {} : { feesPercent }),
      ...(parts ? { partsCost: parts } : {}),
      ...(handsOnHours === undefined ? {} : { handsOnMinutes: Math.round(handsOnHours * 60) }),
    });
  } catch (error) {
    if (error instanceof DomainError) return error.message;
    throw error;
  }
}

async function show(view: View) {
  const { say, query } = view;
  const advice = await adviceFor(view);
  const known = advice && typeof advice !== 'string' ? advice : null;
  const field = (name: string, label: string, hint = '') => (
    <label class="field">
      <span>
        {label} <small>{hint}</small>
      </span>
      <input name={name} value={query[name] ?? ''} autocomplete="off" maxlength={80} />
    </label>
  );
  return {
    title: 'What to pay',
    priced: true,
    answer: known
      ? Number(known.highestBid) > 0
        ? `Pay ${say.money(known.highestBid)} at most.`
        : 'Do not buy it, not even cheaply.'
      : 'What to pay for a machine you saw?',
    more: known ? (
      <p>
        Finished it should bring {say.about(known.expected.likely)}
        {known.readyDate ? `, ready about ${say.day(known.readyDate)}` : ''}. At {say.money(known.breakEvenBid)} it
        would leave nothing.
      </p>
    ) : typeof advice === 'string' ? (
      <p class="refused">{advice}</p>
    ) : null,
    rest: (
      <>
        {known ? <Reasons view={view} reasons={known.reasons} /> : null}
        <form method="get" action={view.to('/worth/bid')}>
          <fieldset>
            <legend>Kind</legend>
            <div class="choice">
              {Object.entries(machineKinds).map(([value, label]) => (
                <label>
                  <input type="radio" name="kind" value={value} checked={query.kind === value} required /> {label}
                </label>
              ))}
            </div>
          </fieldset>
          <details open={Boolean(query.maker || query.haul || query.fees || query.parts || query.hours)}>
            <summary>More about it</summary>
            {field('maker', 'Maker')}
            {field('haul', 'Fetched from how far', `in ${say.symbol('distance')}`)}
            {field('fees', 'Fees on top', 'in percent')}
            {field('parts', 'Parts and paint will cost', `in ${view.shop.currency}`)}
            {field('hours', 'Hours of work')}
          </details>
          <div class="do">
            <button>What may I pay?</button>
          </div>
        </form>
      </>
    ),
  };
}

export const bidPage: Page = { path: '/worth/bid', roles: priceReaders, show };
