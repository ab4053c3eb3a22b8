import { describe, expect, it } from '@jest/globals';
import { type CoatQuestion, coatStatus } from './coat-status.js';
import { constantCourse, courseFromReadings } from './course.js';
import { primer } from './sheet.fixture.js';

const DAY = 1440;
const ask = (nowMinute: number, change: Partial<CoatQuestion> = {}) =>
  coatStatus({
    sheet: primer,
    appliedMinute: 0,
    nowMinute,
    recorded: [],
    scenarios: [constantCourse(20, 0, 60 * DAY)],
    ...change,
  });

describe('where a coat stands', () => {
  it('names the stage reached and the next ones, at the reference temperature as the sheet does', () => {
    const status = ask(500);
    expect(status.stage).toBe('handle');
    expect(status.age.equivalentMinutes).toBe(500);
    expect(status.stages.map(({ stage, reachedMinute, likely }) => [stage, reachedMinute, likely[0]!.minute])).toEqual([
      ['touch', 120, 120],
      ['handle', 480, 480],
      ['assemble', null, 2880],
      ['full', null, 10_080],
    ]);
    expect(status.warnings).toEqual([]);
    expect(ask(0).stage).toBe('wet');
  });

  it('draws quantiles over what may come, and knows none beyond it', () => {
    const scenarios = [10, 12, 15, 18, 20].map((celsius) => constantCourse(celsius, 0, 5 * DAY));
    const handle = ask(100, { scenarios, probabilities: [0.5, 0.99] }).stages[1]!.likely;
    // 480 min at 15 °C take 480 · √2; the slowest of the five, 10 °C, 960.
    expect(handle[0]!.minute).toBeCloseTo(480 * Math.SQRT2, 6);
    expect(handle[1]!.minute).toBeCloseTo(960, 6);
    expect(ask(100, { scenarios, probabilities: [0.5] }).stages[3]!.likely).toEqual([
      { probability: 0.5, minute: null },
    ]);
  });

  it('computes with what was recorded first, then with what may come', () => {
    const recorded = courseFromReadings([
      { atMinute: 0, celsius: 10 },
      { atMinute: 480, celsius: 10 },
    ]);
    const status = ask(240, { recorded });
    expect(status.age.equivalentMinutes).toBeCloseTo(120, 9);
    // 840 minutes of 10 °C known (to 360 past the last reading) are 420; the other 60 pass at 20 °C.
    expect(status.stages[1]!.likely[0]!.minute).toBeCloseTo(900, 9);
  });

  it('stands still below the least temperature and says so', () => {
    const status = ask(3 * DAY, { recorded: constantCourse(3, 0, 3 * DAY) });
    expect(status.stage).toBe('wet');
    expect(status.age).toMatchObject({ equivalentMinutes: 0, tooColdMinutes: 3 * DAY });
    expect(status.warnings).toMatchObject([{ code: 'too-cold', detail: expect.stringContaining('3 days below 5 °C') }]);
    expect(status.stages[0]!.likely[0]!.minute).toBe(3 * DAY + 120);
  });

  it('warns of unknown temperatures, heat and a thick film', () => {
    const status = ask(200, { scenarios: [constantCourse(40, 100, 9999)], dryFilmMicrometres: 80 });
    expect(status.warnings.map((one) => one.code)).toEqual(['too-hot', 'temperature-unknown', 'thick-film']);
    expect(status.reasons[0]).toContain('double in speed every 10 °C');
  });

  it("waits for the shop's own time before assembly, when that is longer", () => {
    expect(ask(0).assembly).toMatchObject({ boundBy: 'sheet', likely: [{ minute: 2880 }, { minute: 2880 }] });
    expect(ask(0, { shopAssemblyWaitMinutes: 21 * DAY }).assembly).toMatchObject({
      boundBy: 'shop',
      likely: [{ minute: 21 * DAY }, { minute: 21 * DAY }],
    });
    expect(ask(0, { shopAssemblyWaitMinutes: 60 }).assembly).toMatchObject({
      boundBy: 'sheet',
      likely: [{ minute: 2880 }, { minute: 2880 }],
    });
  });

  it('refuses a question without an answer', () => {
    expect(() => ask(0, { scenarios: [] })).toThrow(
      expect.objectContaining({ code: 'out-of-range', path: 'scenarios' }),
    );
    expect(() => ask(0, { recorded: [{ fromMinute: 5, toMinute: 5, celsius: 20 }] })).toThrow(
      expect.objectContaining({ code: 'bad-course', path: 'recorded[0]' }),
    );
  });
});

describe('recoating now', () => {
  it('is allowed within the hour and after two days, never in between', () => {
    expect(ask(30).recoat).toMatchObject({
      allowedNow: true,
      code: 'open',
      reason: "The coat's age is 30 minutes at 20 °C; the window from 0 minutes is open and closes at 1 hour.",
    });
    expect(ask(60).recoat.allowedNow).toBe(true);
    expect(ask(61).recoat).toMatchObject({
      allowedNow: false,
      code: 'between-windows',
      reason:
        "The window up to 1 hour at 20 °C has closed; the next opens at 2 days, and the coat's age is 61 minutes.",
    });
    expect(ask(2879).recoat.allowedNow).toBe(false);
    expect(ask(2880).recoat).toMatchObject({ allowedNow: true, code: 'open' });
  });

  it('may be too soon, or too late for good', () => {
    const sheet = { ...primer, recoatMinutes: [{ fromMinutes: 240, toMinutes: 1440 }] };
    expect(ask(200, { sheet }).recoat).toMatchObject({ allowedNow: false, code: 'too-soon' });
    expect(ask(2000, { sheet }).recoat).toMatchObject({
      allowedNow: false,
      code: 'closed',
      reason: expect.stringContaining('it was the last'),
    });
  });

  it('does not hold a window open because it is cold', () => {
    // At 3 °C the clock stands still, yet the first window runs out as at 5 °C: 60 min · 2^1.5 = 170 min.
    const recorded = constantCourse(3, 0, DAY);
    expect(ask(160, { recorded }).recoat.allowedNow).toBe(true);
    expect(ask(180, { recorded }).recoat.allowedNow).toBe(false);
    expect(ask(0, { recorded }).recoat.periods[0]!.closes[0]!.minute).toBeCloseTo(60 * 2 ** 1.5, 9);
  });

  it('must be sound whichever temperatures the unrecorded past had', () => {
    // After 50 minutes the coat may be 25 or 100 minutes old; after 4000, 2000 or 8000.
    const scenarios = [10, 30].map((celsius) => constantCourse(celsius, 0, 30 * DAY));
    expect(ask(50, { scenarios }).recoat.allowedNow).toBe(false);
    expect(ask(4000, { scenarios }).recoat.allowedNow).toBe(false);
    expect(ask(6000, { scenarios }).recoat.allowedNow).toBe(true);
  });

  it('tells when each window is open, earlier closing for the warmer', () => {
    const scenarios = [20, 30].map((celsius) => constantCourse(celsius, 0, 30 * DAY));
    const [first, second] = ask(0, { scenarios, probabilities: [0.9] }).recoat.periods;
    expect(first).toMatchObject({ opens: [{ minute: 0 }], closes: [{ probability: 0.9, minute: 30 }], hasEnd: true });
    expect(second).toMatchObject({ opens: [{ minute: 2880 }], closes: [{ minute: null }], hasEnd: false });
  });
});
