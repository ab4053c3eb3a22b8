import { describe, expect, it } from '@jest/globals';
import { ageTable } from '../../engine/cure/index.js';
import { completionsOf, scheduleRecords } from '../model/scheduled-records.js';
import { withHeatedCure, withPaintEveryDay } from './alternatives.js';
import { after, planJob, planRecords, planTask } from './plan-fixtures.js';

const DAY = 1440;
const midnight = Date.parse('2026-09-15T04:00:00Z') / 60_000;
const sheet = {
  name: 'Enamel',
  referenceCelsius: 23,
  minCelsius: 8,
  maxCelsius: 32,
  sensitivity: { rateDoublingCelsius: 10 },
};
/** Thirteen degrees for good: half as fast as the sheet's 23. */
const table = ageTable(sheet, midnight, new Float64Array(24 * 500).fill(13));
const coat = (jobId: string) =>
  planTask({
    id: `${jobId} coat`,
    jobId,
    kind: 'colour',
    needsPaintWeather: true,
    pausable: false,
    paint: {
      productName: 'Enamel',
      clockId: 'shed',
      recoatMinutes: [{ fromMinutes: 0 }],
      assembleMinutes: 7 * DAY,
      vapourMinutes: 60,
      known: null,
    },
  });
const build = (jobId: string) =>
  planTask({ id: `${jobId} build`, jobId, kind: 'assemble', links: [after(`${jobId} coat`)] });
const records = planRecords({
  jobs: [planJob({ id: 'a', number: 1 }), planJob({ id: 'b', number: 2 })],
  tasks: ['a', 'b'].flatMap((jobId) => [coat(jobId), build(jobId)]),
  paintWindows: [midnight, midnight + 500 * DAY],
  clocks: [{ id: 'shed', sheet, place: { shelter: 'unheated' }, expected: table, years: [] }],
});
const dayOf = (of: typeof records, jobId: string) => completionsOf(scheduleRecords(of)).get(jobId)!.day;

describe('a heated rack', () => {
  it('has a week of cure done in a week at the temperature of the sheet, where 13 °C takes two', () => {
    // Tuesday 15 September; a week at 23 °C ends on the 22nd, two weeks on the 29th.
    expect(dayOf(records, 'a')).toBe('2026-09-29');
    expect(dayOf(withHeatedCure(records, 23), 'a')).toBe('2026-09-22');
    expect(dayOf(withHeatedCure(records, 23), 'b')).toBe('2026-09-22');
  });

  it('may hold the parts of one job alone', () => {
    const one = withHeatedCure(records, 23, 'a');
    expect([dayOf(one, 'a'), dayOf(one, 'b')]).toEqual(['2026-09-22', '2026-09-29']);
  });
});

describe('a heated spray area', () => {
  it('lets coats go on where the weather would not', () => {
    const wet = { ...records, paintWindows: [midnight + 30 * DAY, midnight + 31 * DAY] };
    expect(dayOf(wet, 'a')! > '2026-10-15').toBe(true);
    expect(dayOf(withPaintEveryDay(wet), 'a')).toBe('2026-09-29');
  });
});
