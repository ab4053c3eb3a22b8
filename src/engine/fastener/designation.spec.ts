import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { EngineError } from '../error.js';
import { type Fastener, INCH, isNut, parseDesignation, printDesignation } from './index.js';
import { INCH_SIZES, inchesToMillimetres, METRIC_SIZES } from './threads.js';
import { DRIVE_WORDS, FINISH_WORDS, HEAD_WORDS } from './vocabulary.js';

const parse = (text: string) => parseDesignation(text).fastener;
const thread = (text: string) => parse(text).thread;

// Forms and their meaning: check-values.md §1.7, with the source named there beside each.
describe('forms of designation', () => {
  it('US Army TM 5-3825-270-23&P: 3/4-10 UNC-2A-LH', () => {
    expect(thread('3/4-10 UNC-2A-LH')).toMatchObject({
      size: '3/4',
      majorDiameterMillimetres: 19.05,
      threadsPerInch: 10,
      series: 'UNC',
      toleranceClass: '2A',
      leftHand: true,
      starts: 1,
    });
    // "unless followed with LH … threads are right-hand"
    expect(thread('3/4-10 UNC-2A').leftHand).toBe(false);
  });

  it('FED-STD-H28 by way of LMS 6-2: 1/4-20 UNC-3A-LH', () => {
    expect(thread('1/4-20 UNC-3A-LH')).toMatchObject({ size: '1/4', toleranceClass: '3A', leftHand: true });
  });

  it('scribd 25870060: ½-13 UNC-2A LH, several starts, length last', () => {
    expect(thread('½-13 UNC-2A LH')).toMatchObject({
      size: '1/2',
      threadsPerInch: 13,
      toleranceClass: '2A',
      leftHand: true,
    });
    expect(thread('1/2-13 UNC-2A DOUBLE').starts).toBe(2);
    expect(thread('1/2-13 UNC-2A LH TRIPLE')).toMatchObject({ starts: 3, leftHand: true });
    expect(parse('1/2-13 UNC-2A x 2').lengthMillimetres).toBeCloseTo(50.8, 9);
  });

  it('a hand that stands last, as people write it (common practice, no source)', () => {
    expect(parse('3/8-16 x 1 hex, grade 5, left-hand')).toMatchObject({
      thread: { leftHand: true },
      head: 'hex',
      grade: 'grade 5',
    });
    expect(parse('M10 x 1.25 nut LH, zinc')).toMatchObject({ thread: { leftHand: true }, finish: 'zinc' });
    expect(parse('M10 x 30 hex right hand').thread.leftHand).toBe(false);
    expect(() => parse('M10-LH x 30 hex, RH')).toThrow('a second hand');
    const same = parse('3/8-16 x 1 hex, grade 5, left-hand');
    expect(parse(printDesignation(same))).toEqual(same);
  });

  it('a length without its x is told how it is written', () => {
    expect(() => parse('m8 20')).toThrow("a length has an x before it, as in M8x1.25 x 20: found '20'");
    expect(() => parse('1/4-20 3/4 hex')).toThrow('as in 1/4-20 UNC x 3/4');
  });

  it('viewmold.com, yumpu 46387953: M16 is coarse, 2 mm; M16 x 1.5 is fine', () => {
    const coarse = parseDesignation('M16');
    expect(coarse.fastener.thread).toMatchObject({ size: 'M16', pitchMillimetres: 2, series: 'coarse' });
    expect(coarse.assumed).toEqual(['M16 without a pitch is coarse, 2 mm']);
    expect(thread('M16 x 1.5')).toMatchObject({ pitchMillimetres: 1.5, series: 'fine' });
  });

  it('scribd 25870060: M10x1.5-6H is internal, 6g external', () => {
    expect(thread('M10x1.5-6H')).toMatchObject({
      size: 'M10',
      pitchMillimetres: 1.5,
      toleranceClass: '6H',
      leftHand: false,
    });
    expect(thread('M10x1.5-6g').toleranceClass).toBe('6g');
    expect(() => parse('M10x1.5-6g nut')).toThrow('external thread');
    expect(() => parse('M10x1.5-6H x 20 hex')).toThrow('internal thread');
  });

  it('easymanua.ls oe35 p. 26: shop notation with length', () => {
    expect(parse('1/2 x 13 UNC x 1-1/2')).toMatchObject({
      thread: { size: '1/2', threadsPerInch: 13, series: 'UNC' },
      lengthMillimetres: 38.1,
    });
    expect(parse('M12 x 1.75 x 50')).toMatchObject({
      thread: { size: 'M12', pitchMillimetres: 1.75 },
      lengthMillimetres: 50,
    });
    expect(thread('1/2 UNC')).toMatchObject({ threadsPerInch: 13, series: 'UNC' });
  });

  it('experts123.com: #4-40 x .5, 1/4-20 x 5/8; number sizes are 0.060 + 0.013 N', () => {
    expect(parse('#4-40 x .5')).toMatchObject({ thread: { size: '#4', threadsPerInch: 40 }, lengthMillimetres: 12.7 });
    expect(parse('1/4-20 x 5/8').lengthMillimetres).toBeCloseTo(15.875, 9);
    expect(thread('#10-24').majorDiameterMillimetres).toBeCloseTo(0.19 * INCH, 9);
    // The malformed example to refuse: "M3-50 x 10" for M3 x 0.50 x 10.
    expect(() => parse('M3-50 x 10')).toThrow("a pitch is written M3x0.5): found '50' at character 4");
  });

  it('recalled forms: length after class; a decimal size', () => {
    expect(parse('1/4-20 UNC-2A x 3/4')).toMatchObject({ thread: { toleranceClass: '2A' }, lengthMillimetres: 19.05 });
    expect(parse('M6x1.0-6g x 20')).toMatchObject({
      thread: { size: 'M6', toleranceClass: '6g' },
      lengthMillimetres: 20,
    });
    expect(thread('0.250-20 UNC-2A')).toMatchObject({ size: '1/4', threadsPerInch: 20 });
  });

  it('words for head, grade, finish and standard', () => {
    expect(parse('5/16-18 x 1 carriage, grade 5, zinc')).toMatchObject({
      head: 'carriage',
      grade: 'grade 5',
      finish: 'zinc',
      lengthMillimetres: 25.4,
    });
    expect(parse('M6x1.0-6g x 20 8.8')).toMatchObject({ grade: '8.8' });
    // The designation form of ISO 4762, as amesweb.info quotes it.
    expect(parse('ISO 4762 - M6 x 35 - 10.9')).toMatchObject({
      standard: 'ISO 4762',
      thread: { size: 'M6', series: 'coarse' },
      lengthMillimetres: 35,
      grade: '10.9',
    });
    expect(parse('machine screw 10-24 x 1/2 pan head cross recess')).toMatchObject({
      thread: { size: '#10', threadsPerInch: 24 },
      head: 'pan',
      drive: 'cross',
    });
    expect(parse('1/4"-20 x 3/4" hex shear bolt gr 2')).toMatchObject({
      designedToFail: true,
      grade: 'grade 2',
      head: 'hex',
    });
    expect(parse('3/8-16 UNC-2B lock nut')).toMatchObject({ head: 'lockNut', thread: { toleranceClass: '2B' } });
    expect(parse('M8 x 25 DIN 933 A2-70')).toMatchObject({
      standard: 'DIN 933',
      grade: 'A2-70',
      lengthMillimetres: 25,
    });
    expect(parse('1-8 x 4').thread.size).toBe('1');
    expect(parse('1/4-20 x 20 mm').lengthMillimetres).toBe(20);
  });
});

describe('what is not understood is said, with its place', () => {
  it.each([
    ['', 'expected a thread size', 0],
    ['banana', 'expected a thread size', 0],
    ['#11-24', 'no number size #11', 0],
    ['1/4-21 x 1', '1/4 is made with 20 (UNC), 28 (UNF), 32 (UNEF)', 4],
    ['1/4-20 UNF', '1/4 UNF has 28 threads per inch; 20 is UNC', 7],
    ['1/4-20 UNC-4A', 'expected 1A to 3A', 11],
    ['1/4-20 x', 'expected a length', 8],
    ['1/4-20 x 1/0', 'more than nothing', 9],
    ['1/4-20 x 1 bananas', 'expected a head', 11],
    ['1/4-20 x 1 hex pan', 'a second head after hex', 15],
    ['1/4-20 x 1 8.8', 'metric strength on an inch thread', 0],
    ['M6x1 x 20 grade 5', 'inch strength on a metric thread', 0],
    ['M11 x 20', 'no metric thread of that size', 0],
    ['M6x1.3 x 20', 'M6 is made with pitch 1 (coarse), 0.75 (fine)', 3],
    ['M6x1-2g', 'grade runs from 3 to 9', 5],
    ['M6x1-6z', 'position is e, f, g, h, G or H', 5],
    ['4/0-20', 'no inch thread', 0],
    ['1/4-20 nut x 1', 'expected a head', 11],
    ['1/4-20 x 1 nut', 'a nut has no length', 0],
    ['1/4-20 x 99999', 'not a fastener', 6],
  ])('%j: %s', (text, message, offset) => {
    let error: unknown;
    try {
      parse(text);
    } catch (caught) {
      error = caught;
    }
    expect(error).toBeInstanceOf(EngineError);
    expect((error as EngineError).message).toContain(message);
    expect((error as EngineError).path).toBe(`${offset}`);
  });

  it('any text at all is read or refused, never anything else', () => {
    const piece = fc.constantFrom(
      '1/4',
      '-',
      '20',
      ' ',
      'x',
      'UNC',
      '2A',
      'M6',
      '#10',
      '½',
      'hex',
      ',',
      '8.8',
      'nut',
      'ISO',
      '"',
      '.',
      'é',
      '\u{1F529}',
      'LH',
    );
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string(),
          fc.array(piece).map((p) => p.join('')),
        ),
        (text) => {
          try {
            parse(text);
          } catch (error) {
            if (!(error instanceof EngineError)) throw error;
          }
        },
      ),
      { numRuns: 500 },
    );
  });
});

describe('round trip', () => {
  const keys = <T extends string>(words: Record<T, unknown>) => Object.keys(words) as T[];
  const inchThread = fc.constantFrom(...INCH_SIZES).chain((size) =>
    fc.constantFrom(...size.pitches).chain(([series, tpi]) =>
      fc
        .record({
          fit: fc.constantFrom(null, '1', '2', '3'),
          leftHand: fc.boolean(),
          starts: fc.constantFrom(1, 2, 3),
        })
        .map((rest) => ({
          system: 'inch' as const,
          size: size.size,
          majorDiameterMillimetres: inchesToMillimetres(size.diameter),
          pitchMillimetres: INCH / tpi,
          threadsPerInch: tpi as number | null,
          series,
          ...rest,
        })),
    ),
  );
  const metricThread = fc.constantFrom(...METRIC_SIZES).chain((size) =>
    fc.constantFrom(...size.pitches).chain(([series, pitch]) =>
      fc
        .record({
          fit: fc.constantFrom(null, '4', '6', '8'),
          leftHand: fc.boolean(),
          starts: fc.constantFrom(1, 2, 3),
        })
        .map((rest) => ({
          system: 'metric' as const,
          size: size.size,
          majorDiameterMillimetres: size.diameter,
          pitchMillimetres: pitch,
          threadsPerInch: null as number | null,
          series,
          ...rest,
        })),
    ),
  );
  const fastener = fc
    .record({
      thread: fc.oneof(inchThread, metricThread),
      steps: fc.option(fc.integer({ min: 1, max: 400 })),
      head: fc.option(fc.constantFrom(...keys(HEAD_WORDS))),
      drive: fc.option(fc.constantFrom(...keys(DRIVE_WORDS))),
      finish: fc.option(fc.constantFrom(...keys(FINISH_WORDS))),
      inchGrade: fc.constantFrom(null, 'grade 2', 'grade 5', 'grade 8', 'stainless' as const),
      metricGrade: fc.constantFrom(null, '4.6', '8.8', '10.9', 'class 10', 'A2-70', 'brass' as const),
      standard: fc.constantFrom(null, 'ISO 4017', 'DIN 933', 'JIS B1180', 'ASME B18.2.1'),
      designedToFail: fc.boolean(),
    })
    .map(({ thread: { fit, ...made }, steps, inchGrade, metricGrade, ...rest }): Fastener => {
      const nut = isNut(rest.head);
      const metric = made.system === 'metric';
      const position = metric ? (nut ? 'H' : 'g') : nut ? 'B' : 'A';
      return {
        ...rest,
        thread: { ...made, toleranceClass: fit && `${fit}${position}` },
        lengthMillimetres: nut || steps === null ? null : metric ? steps / 2 + 6 : inchesToMillimetres(steps / 32),
        grade: (metric ? metricGrade : inchGrade) as Fastener['grade'],
      };
    });

  it('parse → print → parse gives the same fastener, and prints it the same', () => {
    fc.assert(
      fc.property(fastener, (made) => {
        const printed = printDesignation(made);
        const read = parseDesignation(printed);
        expect(read.assumed).toEqual([]);
        expect(read.fastener).toEqual(made);
        expect(printDesignation(read.fastener)).toBe(printed);
      }),
      { numRuns: 400 },
    );
  });

  it.each([
    ['#10-24 x 1/2', '#10-24 UNC x 1/2'],
    ['5/16-18 x 1 carriage, grade 5, zinc', '5/16-18 UNC x 1 carriage, grade 5, zinc'],
    ['M6x1.0-6g x 20 8.8', 'M6x1-6g x 20 8.8'],
    ['½-13 unc-2a lh', '1/2-13 UNC-2A-LH'],
    ['1/4-20 x 20mm', '1/4-20 UNC x 20 mm'],
    ['1/4 NF x .375', '1/4-28 UNF x 3/8'],
    ['M8 x 25 din 933', 'M8x1.25 x 25 DIN 933'],
  ])('%s prints as %s', (text, printed) => {
    expect(printDesignation(parse(text))).toBe(printed);
    expect(printDesignation(parse(printed))).toBe(printed);
  });
});
