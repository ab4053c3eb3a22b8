import { describe, expect, it } from '@jest/globals';
import { linesOf, StationReader, type StationReaderOptions } from './reader.js';
import type { StationItem } from './tally.js';

function readAll(lines: string[], options?: StationReaderOptions) {
  const reader = new StationReader(options);
  const items: StationItem[] = [...lines.flatMap((line) => reader.push(line)), ...reader.finish()];
  const days = items.flatMap((item) => (item.kind === 'day' ? [item.record] : []));
  const validationErrors = items.flatMap((item) => (item.kind === 'fault' ? [`${item.line}: ${item.detail}`] : []));
  return { days, validationErrors, summary: reader.summary() };
}

/** A .dly line by the layout of the GHCN-Daily readme: value in five columns, then three flags. */
function dly(
  element: string,
  values: (number | [number, string])[],
  { station = 'XX000000001', month = '202001' } = {},
): string {
  const cells = Array.from({ length: 31 }, (_, k) => {
    const [value, flags] = Array.isArray(values[k]) ? values[k] : [values[k] ?? -9999, '   '];
    return String(value).padStart(5) + flags;
  });
  return station + month + element + cells.join('');
}

describe('a .dly file', () => {
  it('reads tenths, joins the elements of a month and leaves out days without any', () => {
    const { days, validationErrors, summary } = readAll([
      dly('TMAX', [39, -17]),
      dly('TMIN', [-61, -100]),
      dly('PRCP', [12]),
      dly('SNOW', [25]),
      dly('SNWD', [50]),
    ]);
    expect(validationErrors).toEqual([]);
    expect(days).toEqual([
      {
        day: '2020-01-01',
        highCelsius: 3.9,
        lowCelsius: -6.1,
        precipitationMillimetres: 1.2,
        snowfallMillimetres: 25,
        snowTrace: false,
        humidityPercent: null,
      },
      {
        day: '2020-01-02',
        highCelsius: -1.7,
        lowCelsius: -10,
        precipitationMillimetres: null,
        snowfallMillimetres: null,
        snowTrace: false,
        humidityPercent: null,
      },
    ]);
    expect(summary).toMatchObject({
      format: 'ghcn-dly',
      station: 'XX000000001',
      lines: 5,
      days: 2,
      firstDate: '2020-01-01',
      lastDate: '2020-01-02',
      notes: ['Not used: SNWD.'],
    });
    expect(summary.units).toContain('TMAX: tenths of °C');
  });

  it('keeps a trace as a trace, and a value that failed its quality check as not observed', () => {
    const { days, summary } = readAll([
      dly('SNOW', [
        [0, 'T  '],
        [300, ' I '],
      ]),
      dly('PRCP', [[0, 'T  '], 5]),
    ]);
    expect(days[0]).toMatchObject({ snowfallMillimetres: 0, snowTrace: true, precipitationMillimetres: 0 });
    expect(days[1]).toMatchObject({ snowfallMillimetres: null, snowTrace: false, precipitationMillimetres: 0.5 });
    expect(summary).toMatchObject({ failedQuality: 1, traces: 1 });
  });

  it('does not take a zero that nobody wrote for an observation', () => {
    const { days, summary } = readAll([dly('SNOW', [[0, 'P  '], 0])]);
    expect(days.map((one) => one.day)).toEqual(['2020-01-02']);
    expect(summary.notes[0]).toContain('taken for zero');
  });

  it('tells faults with their line and goes on', () => {
    const { days, validationErrors, summary } = readAll([
      dly('TMAX', [100]),
      'nonsense',
      dly('TMIN', [150]),
      dly('SNOW', [10], { station: 'XX000000002' }),
      dly('TMAX', [1, 1], { month: '202013' }),
      dly(
        'TMAX',
        Array.from({ length: 31 }, () => 50),
        { month: '202002' },
      ),
      dly('PRCP', [7], { month: '202001' }),
      dly('TMAX', [50], { month: '202003' }).replace('   50', '   5x'),
    ]);
    expect(validationErrors).toEqual([
      expect.stringContaining('2: is not a line of a .dly file'),
      expect.stringContaining('4: is of station XX000000002'),
      expect.stringContaining('5: has no month 13'),
      // The month is complete only when the next begins; its fault keeps the line it began on.
      expect.stringContaining('1: on 2020-01-01 the high 10 °C is below the low 15 °C'),
      expect.stringContaining('6: has a value for day 30'),
      expect.stringContaining('6: has a value for day 31'),
      expect.stringContaining('7: comes back to 2020-01'),
      expect.stringContaining("8: has '   5x' where TMAX of day 1 should stand"),
    ]);
    expect(days).toHaveLength(29);
    expect(summary.faultyLines).toBe(7);
  });
});

describe('an NCEI daily-summaries file', () => {
  const header =
    '"STATION","DATE","NAME","PRCP","PRCP_ATTRIBUTES","SNOW","SNOW_ATTRIBUTES",' +
    '"TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES","ADPT","ADPT_ATTRIBUTES"';

  it('reads GHCN units and flags, and computes humidity from the dew point', () => {
    const { days, validationErrors, summary } = readAll([
      header,
      '"XX1","2020-01-01","SOMEWHERE, XX","   15",",,0,2400","   25",",,0","  200",",,0","  100",",,0","   50",",,X"',
      '"XX1","2020-01-02","SOMEWHERE, XX","    0","T,,0","    0","T,,0","  200",",I,0","  100",",,0",,',
    ]);
    expect(validationErrors).toEqual([]);
    // Dew point 5 °C in air of 15 °C: 51.2 % by the Magnus form (8.72 of 17.04 hPa).
    expect(days[0]).toEqual({
      day: '2020-01-01',
      highCelsius: 20,
      lowCelsius: 10,
      precipitationMillimetres: 1.5,
      snowfallMillimetres: 25,
      snowTrace: false,
      humidityPercent: 51.2,
    });
    expect(days[1]).toMatchObject({ highCelsius: null, lowCelsius: 10, snowfallMillimetres: 0, snowTrace: true });
    expect(summary).toMatchObject({
      format: 'ncei-csv',
      station: 'XX1',
      failedQuality: 1,
      notes: ['1 days have their humidity computed from the dew point.'],
    });
  });

  it('does not guess units a file does not tell', () => {
    const unwrapSchema = ['STATION,DATE,SNOW,TMAX,TMIN', 'XX1,2020-01-01,1.0,50,32'];
    expect(() => readAll(unwrapSchema)).toThrow(expect.objectContaining({ code: 'units-unstated' }));
    expect(readAll(unwrapSchema, { units: 'us' }).days[0]).toMatchObject({
      highCelsius: 10,
      lowCelsius: 0,
      snowfallMillimetres: 25.4,
    });
    expect(readAll(unwrapSchema, { units: 'us' }).summary.units).toEqual([
      'TMAX: fahrenheit',
      'TMIN: fahrenheit',
      'SNOW: inches',
    ]);
    // Decimals cannot be GHCN units, whatever was said.
    expect(readAll(unwrapSchema, { units: 'ghcn' }).validationErrors[0]).toContain('GHCN units are whole numbers');
  });

  it('reads one station of several', () => {
    const lines = [header, 'XX1,2020-01-01,,0,,10,,200,,100,,,', 'XX2,2020-01-01,,0,,20,,200,,100,,,'];
    expect(readAll(lines, { station: 'XX2' }).days).toMatchObject([{ snowfallMillimetres: 20 }]);
    expect(readAll(lines).validationErrors).toEqual(['3: is of station XX2; this import reads XX1']);
  });
});

describe('a plain CSV', () => {
  it('reads the units its columns name', () => {
    const { days, summary } = readAll([
      'Date,High (°F),lowFahrenheit,snow_in,rain in,RH avg %,wind_kn',
      '2020-01-01,50,32,1.0,0.1,80,12',
      '2020-01-02,M,,T,T,NA,',
    ]);
    expect(days).toEqual([
      {
        day: '2020-01-01',
        highCelsius: 10,
        lowCelsius: 0,
        precipitationMillimetres: 2.54,
        snowfallMillimetres: 25.4,
        snowTrace: false,
        humidityPercent: 80,
      },
      {
        day: '2020-01-02',
        highCelsius: null,
        lowCelsius: null,
        precipitationMillimetres: 0,
        snowfallMillimetres: 0,
        snowTrace: true,
        humidityPercent: null,
      },
    ]);
    expect(summary.units).toEqual([
      'High (°F): fahrenheit',
      'lowFahrenheit: fahrenheit',
      'snow_in: inches',
      'rain in: inches',
      'RH avg %: percent',
    ]);
    expect(summary.notes).toEqual(['Not used: wind_kn.']);
  });

  it('reads semicolons with decimal commas', () => {
    expect(
      readAll(['day;highCelsius;lowCelsius;snowfallMillimetres', '2020-01-01;3,9;-1,7;2,5']).days[0],
    ).toMatchObject({ highCelsius: 3.9, lowCelsius: -1.7, snowfallMillimetres: 2.5 });
  });

  it.each([
    [['date,high,low_c'], 'unit-missing'],
    [['date,high_mm'], 'unit-mismatch'],
    [['date,high_c,tmax_f'], 'column-twice'],
    [['name,price'], 'unknown-format'],
    [['date,"high_c'], 'unknown-format'],
    [['', ' '], 'unknown-format'],
  ])('refuses %j with %s', (lines, code) => {
    expect(() => readAll(lines)).toThrow(expect.objectContaining({ code }));
  });

  it('tells each faulty line and keeps what is sound on it', () => {
    const { days, validationErrors, summary } = readAll([
      'date,high_c,low_c,snow_mm',
      '2020-02-30,1,0,0',
      '2020-02-01,abc,0,5',
      '2020-02-02,999,0,',
      '2020-02-01,2,1,0',
      '2/3/2020,2,1,0',
      '2020-02-04,1,5,3',
      '2020-02-05,"1,2',
      '',
    ]);
    expect(validationErrors.map((one) => one.slice(0, 2))).toEqual(['2:', '3:', '4:', '5:', '6:', '7:', '8:']);
    expect(validationErrors[3]).toContain('was told before');
    expect(days.map((one) => [one.day, one.highCelsius, one.lowCelsius, one.snowfallMillimetres])).toEqual([
      ['2020-02-01', null, 0, 5],
      ['2020-02-02', null, 0, null],
      ['2020-02-04', null, null, 3],
    ]);
    expect(summary).toMatchObject({ lines: 9, faultyLines: 7, days: 3 });
    expect(summary.validationErrors[0]).toEqual({
      line: 2,
      detail: "has no day written YYYY-MM-DD or YYYYMMDD but '2020-02-30'",
    });
  });

  it('knows no days before thermometers', () => {
    expect(readAll(['date,high_c', '0001-01-01,5', '2200-01-01,5', '1700-01-01,5'])).toMatchObject({
      days: [{ day: '1700-01-01' }],
      validationErrors: [
        '2: 0001-01-01 lies outside the years 1700 to 2199',
        '3: 2200-01-01 lies outside the years 1700 to 2199',
      ],
    });
    expect(readAll([dly('TMAX', [5], { month: '000001' })]).validationErrors).toEqual([
      expect.stringContaining('0000-01-01 lies outside'),
    ]);
  });

  it('keeps no more than a hundred faults but counts them all', () => {
    const { summary } = readAll(['date,high_c', ...Array.from({ length: 250 }, (_, k) => `bad ${k},1`)]);
    expect(summary).toMatchObject({ faultyLines: 250 });
    expect(summary.validationErrors).toHaveLength(100);
  });
});

it('cuts text into lines wherever the chunks end', async () => {
  const lines: string[] = [];
  for await (const line of linesOf(['da', 'te,high_c\r', '\n2020-01-01,5\n2020', '-01-02,6'])) lines.push(line);
  expect(lines).toEqual(['date,high_c', '2020-01-01,5', '2020-01-02,6']);
  const endless = (async () => {
    for await (const line of linesOf([...Array<string>(11)].map(() => 'x'.repeat(10_000)))) lines.push(line);
  })();
  await expect(endless).rejects.toThrow(expect.objectContaining({ code: 'line-too-long' }));
});
