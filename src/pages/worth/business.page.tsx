/** The shop as a business: what is tied up, what machines earned and are expected to, what is due of tax. */
import type { z } from 'zod';
import { priceReaders } from '../../platform/operation/operation.js';
import { BusinessReport, TaxYear } from '../../resale/business.shapes.js';
import { Reasons, Table } from '../frame/components.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { machineKinds } from '../frame/words.js';

const sources: Record<string, string> = {
  classified: 'classified ad',
  auction: 'auction',
  donation: 'donation',
  tradeIn: 'taken in trade',
  dealer: 'dealer',
  other: 'other',
};
const schemes: Record<string, string> = { none: 'no tax', salesTax: 'sales tax', marginScheme: 'margin scheme' };

const sourceOf = (source: string | null): string => (source ? (sources[source] ?? source) : 'not recorded');

type Report = z.output<typeof BusinessReport>;

async function show(view: View) {
  const { say } = view;
  const report = await view.read('businessReport', BusinessReport);
  const { periods } = await view.read('taxPeriods', TaxYear);
  const { total, tiedUp, returnOnMachines } = report;
  const earned = [
    { head: 'Sold', number: true, cell: (one: typeof total) => String(one.machines) },
    { head: 'Left after tax', number: true, cell: (one: typeof total) => say.money(one.netProceeds) },
    { head: 'Cash margin', number: true, cell: (one: typeof total) => say.money(one.cashMargin) },
    {
      head: 'An hour',
      number: true,
      cell: (one: typeof total) => (one.earningsPerHour ? say.money(one.earningsPerHour) : ''),
    },
  ];
  return {
    title: 'The business',
    priced: true,
    answer:
      total.machines === 0
        ? `Nothing was sold in the year; ${say.money(tiedUp.machinesAmount)} are tied up in machines.`
        : `The year's ${total.machines} sales left ${say.money(total.cashMargin)}` +
          `${total.earningsPerHour ? `, ${say.money(total.earningsPerHour)} an hour` : ''}.`,
    more: (
      <p>
        {say.money(tiedUp.machinesAmount)} are tied up in {tiedUp.machines} machines, {say.money(tiedUp.partsAmount)} in
        parts; {say.money(tiedUp.depositsHeld)} of deposits are held.
        {returnOnMachines.returnPercent === null
          ? ''
          : ` The money in machines earned ${returnOnMachines.returnPercent.toFixed(0)} %.`}
        {report.withdrawn.machines > 0
          ? ` ${report.withdrawn.machines} left the stock to be kept, at ${say.money(report.withdrawn.amount)}.`
          : ''}
      </p>
    ),
    rest: (
      <>
        <Table
          caption="Which kinds are worth buying"
          rows={report.byKind}
          empty="Nothing was sold in the year."
          columns={[
            { head: 'Kind', cell: (one: Report['byKind'][number]) => machineKinds[one.kind] },
            ...earned,
            {
              head: 'Still expected',
              number: true,
              cell: (one: Report['byKind'][number]) => (one.expectedMachines > 0 ? say.money(one.expectedMargin) : ''),
            },
          ]}
        />
        <Table
          caption="By where they came from"
          rows={report.bySource}
          columns={[{ head: 'Source', cell: (one: Report['bySource'][number]) => sourceOf(one.source) }, ...earned]}
        />
        <Table
          caption="By month"
          rows={report.byMonth}
          columns={[{ head: 'Month', cell: (one: Report['byMonth'][number]) => one.month }, ...earned]}
        />
        <Table
          caption="Expected from what is in the shop"
          rows={report.expected}
          empty="Nothing in the shop is priced."
          columns={[
            { head: 'Month', cell: (one) => one.month },
            { head: 'Kind', cell: (one) => machineKinds[one.kind] },
            { head: 'Source', cell: (one) => sourceOf(one.source) },
            { head: 'Machines', number: true, cell: (one) => String(one.machines) },
            { head: 'Margin', number: true, cell: (one) => say.money(one.margin) },
          ]}
        />
        <Table
          caption="Tied up, by age"
          rows={tiedUp.byAge}
          columns={[
            {
              head: 'Days here',
              cell: (one) => (one.maxDays === null ? `${one.minDays} and more` : `${one.minDays} to ${one.maxDays}`),
            },
            { head: 'Machines', number: true, cell: (one) => String(one.machines) },
            { head: 'Amount', number: true, cell: (one) => say.money(one.amount) },
          ]}
        />
        <Table
          caption="Tax, by period"
          rows={periods}
          columns={[
            { head: 'From', cell: (one) => say.fullDay(one.from) },
            { head: 'To', cell: (one) => say.fullDay(one.to) },
            {
              head: 'Sales',
              number: true,
              cell: (one) =>
                one.totals.map((each) => `${schemes[each.scheme]}: ${say.money(each.salesAmount)}`).join('; ') ||
                'none',
            },
            { head: 'Due', number: true, cell: (one) => say.money(one.taxDue) },
          ]}
        />
        <Reasons view={view} reasons={report.reasons} />
      </>
    ),
  };
}

export const businessPage: Page = { path: '/worth/business', roles: priceReaders, show };
