import { describe, expect, it } from '@jest/globals';
import { Decimal } from 'decimal.js';
import type { BriefingRead } from './briefing.queries.js';
import { briefingText } from './briefing-text.js';

const job: BriefingRead['jobs'][number] = {
  jobId: 'a',
  number: 7,
  title: 'Norvane N-21',
  status: 'inWork',
  p50Date: '2026-12-10',
  p80Date: '2026-12-19',
  probabilityBeforeSnow: 0.8,
  waitsFor: null,
  cashCost: new Decimal('10'),
  fullCost: new Decimal('20.5'),
  ask: new Decimal('300'),
  askBasedOn: 'comparables',
};
const capacity = (
  moreThatFit: number | null,
  lastFinishedDate: string | null,
  nextFinishDate: string | null,
): BriefingRead['capacity'] => [
  {
    kind: 'singleStageThrower',
    routeName: 'Route',
    moreThatFit,
    probabilities: moreThatFit === 0 ? [0.4] : [],
    lastFinishedDate,
    nextFinishDate,
  },
];
const briefing: BriefingRead = {
  shopName: 'Alder Lane',
  currency: 'CAD',
  today: '2026-11-25',
  bench: { day: '2026-11-25', tasks: [], note: 'No open job has a task left to do.' },
  jobs: [job],
  bids: [],
  capacity: capacity(10, '2027-02-02', '2027-09-09'),
  readyBy: '2027-02-19',
  firstSnowMedian: '2027-03-05',
  readyCount: 1,
  inSeasonCount: 1,
  bottleneck: 'paint weather; with a heated spray area 4 more would fit',
  notes: [],
};
const lineOf = (text: string, start: string): string =>
  text
    .split('\n')
    .find((line) => line.trimStart().startsWith(start))!
    .trim();

describe('the briefing at the prompt', () => {
  it('tells an even chance and four chances in five, and of what is finished only that', () => {
    const row = lineOf(briefingText(briefing), '7 ');
    expect(row.split(/\s{2,}/)).toEqual([
      '7',
      'Norvane N-21',
      'in work',
      '2026-12-10',
      '2026-12-19',
      '80 %',
      '10.00',
      '20.50',
      '300.00',
    ]);
    expect(lineOf(briefingText({ ...briefing, jobs: [{ ...job, status: 'finished' }] }), '7 ')).toMatch(
      /finished\s+done\s+80 %/,
    );
  });

  it('marks an ask that only costs speak for', () => {
    expect(briefingText(briefing)).not.toContain('*');
    const text = briefingText({
      ...briefing,
      jobs: [
        { ...job, askBasedOn: 'cost' },
        { ...job, number: 8 },
      ],
    });
    expect([lineOf(text, '7 '), lineOf(text, '8 ')].map((row) => row.split(/\s{2,}/).at(-1))).toEqual([
      '300.00*',
      '300.00',
    ]);
    expect(lineOf(text, '*')).toBe(
      '* What it must bring back, not what buyers pay: no price of such a machine is on record.',
    );
  });

  it('does not let those that fit be read as done on the day of the one that does not', () => {
    expect(lineOf(briefingText(briefing), '10 more')).toBe(
      '10 more single-stage throwers would be finished in time four times in five, the last about 2027-02-02, ' +
        'and one more than that less often.',
    );
    expect(lineOf(briefingText({ ...briefing, capacity: capacity(0, null, '2027-09-09') }), 'No more')).toBe(
      'No more single-stage thrower would be finished in time four times in five: one would be with a chance of 40 %.',
    );
  });

  it('says what is unknown, and what was taken for granted', () => {
    const text = briefingText({
      ...briefing,
      readyBy: null,
      firstSnowMedian: null,
      readyCount: null,
      capacity: capacity(null, null, null),
      notes: ['nobody is entered yet'],
    });
    expect(text).toMatch(
      /6\. Before it snows\n {2}Unknown\.\n\nNot known, or taken for granted\n {2}nobody is entered yet$/,
    );
    expect(text).not.toContain('null');
  });
});
