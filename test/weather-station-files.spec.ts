/** Files as a person downloads them, against the same stations' tables made by other code. */
import { createReadStream } from 'node:fs';
import { describe, expect } from '@jest/globals';
import { linesOf, StationReader } from '../src/engine/station-file/index.js';
import { type StationDay } from '../src/engine/weather/index.js';
import { checkReference, climateFile, referenceDays } from './weather-reference.js';

async function readFile(name: string) {
  const reader = new StationReader();
  const days = new Map<string, StationDay>();
  const chunks = createReadStream(climateFile(name), { encoding: 'utf8', highWaterMark: 64 * 1024 });
  for await (const item of reader.read(linesOf(chunks)))
    if (item.kind === 'day') days.set(item.record.day, item.record);
  return { days, summary: reader.summary() };
}

function expectSame(found: ReadonlyMap<string, StationDay>, table: readonly StationDay[]): void {
  let compared = 0;
  for (const row of table) {
    const { humidityPercent: _, ...expected } = row;
    const values = [row.highCelsius, row.lowCelsius, row.precipitationMillimetres, row.snowfallMillimetres];
    if (values.every((value) => value === null)) {
      expect(found.has(row.day) && found.get(row.day)!.snowfallMillimetres !== null).toBe(false);
      continue;
    }
    const { humidityPercent: __, ...read } = found.get(row.day)!;
    // Only a difference is worth an assertion; there are fifty thousand days.
    if (JSON.stringify(read) !== JSON.stringify(expected)) expect(read).toEqual(expected);
    compared += 1;
  }
  expect(compared).toBeGreaterThan(10_000);
}

describe('station files', () => {
  checkReference('a .dly file of 134 years reads as its table does', async () => {
    const { days, summary } = await readFile('raw/CA006105976.dly');
    expect(summary).toMatchObject({
      format: 'ghcn-dly',
      station: 'CA006105976',
      faultyLines: 0,
      firstDate: '1889-11-01',
    });
    // Counted in the file by another program: 4 + 1 + 1 + 27 values of TMIN, TMAX and SNOW with a quality flag.
    expect(summary.failedQuality).toBe(33);
    expectSame(days, referenceDays('CA006105976_ottawa_cda'));
  });

  checkReference('a daily-summaries file with attributes reads as its table does', async () => {
    const { days, summary } = await readFile('raw/USW00014739_ncei_1990_2024.csv');
    expect(summary).toMatchObject({
      format: 'ncei-csv',
      station: 'USW00014739',
      faultyLines: 0,
      failedQuality: 1,
      traces: 691,
    });
    expect(summary.units).toContain('SNOW: mm');
    const [first, last] = [summary.firstDate!, summary.lastDate!];
    expectSame(
      days,
      referenceDays('USW00014739_boston_logan').filter(({ day }) => day >= first && day <= last),
    );
  });

  checkReference('the plain tables are station files too', async () => {
    const { days, summary } = await readFile('USW00014839_milwaukee.csv');
    expect(summary).toMatchObject({
      format: 'plain-csv',
      faultyLines: 0,
      units: ['tmax_c: celsius', 'tmin_c: celsius', 'prcp_mm: millimetres', 'snow_mm: millimetres'],
    });
    expectSame(days, referenceDays('USW00014839_milwaukee'));
  });

  checkReference('a file is read no further ahead than the month in hand', async () => {
    let pulled = 0;
    let furthest = 0;
    const count = async function* () {
      for await (const line of linesOf(createReadStream(climateFile('raw/CA006105976.dly'), { encoding: 'utf8' }))) {
        pulled += 1;
        yield line;
      }
    };
    for await (const item of new StationReader().read(count())) furthest = Math.max(furthest, pulled - item.line);
    expect(pulled).toBe(7_221);
    // A month of this file has at most eight elements, and the line that begins the next.
    expect(furthest).toBeGreaterThan(0);
    expect(furthest).toBeLessThanOrEqual(8);
  });
});
