import { describe, expect, it } from '@jest/globals';
import { standardRoutes } from '../../seed/routes.js';
import { cautionsFor } from './cautions.js';
import { type Before, earliestStart, hindranceAt } from './order.js';
import { RouteCreate } from './routes.shapes.js';

const at = (minutes: number): Date => new Date(Date.UTC(2026, 4, 1, 12) + minutes * 60_000);
const before = (over: Partial<Before> = {}): Before => ({
  name: 'prime',
  finishedAt: at(0),
  minWaitMinutes: 0,
  forbiddenIntervals: [],
  reason: null,
  ...over,
});
const recoat = before({ minWaitMinutes: 15, forbiddenIntervals: [{ fromMinutes: 60, toMinutes: 2880 }] });

describe('when a task may start', () => {
  // Expected moments are counted by hand from the link: 15 minutes to flash off, closed between 1 h and 48 h.
  it.each([
    [14, 'wait-not-over', 15],
    [15, null, 15],
    [60, null, 60],
    [61, 'recoat-closed', 2880],
    [2879, 'recoat-closed', 2880],
    [2880, null, 2880],
    [5000, null, 5000],
  ])('%i minutes after the coat before: %s, from minute %i', (minutes, code, allowed) => {
    expect(hindranceAt([recoat], at(minutes))?.code ?? null).toBe(code);
    expect(earliestStart([recoat], at(minutes))).toEqual(at(allowed));
  });

  it('goes on until no interval of any link stands against it', () => {
    // From 70: closed by the first until 100, there closed by the second (90 to 200 after minute 5) until 205,
    // there closed by the first again (200 to 300) until 300.
    const links = [
      before({
        forbiddenIntervals: [
          { fromMinutes: 60, toMinutes: 100 },
          { fromMinutes: 200, toMinutes: 300 },
        ],
      }),
      before({ finishedAt: at(5), forbiddenIntervals: [{ fromMinutes: 90, toMinutes: 200 }] }),
    ];
    expect(earliestStart(links, at(70))).toEqual(at(300));
    expect(hindranceAt(links, at(70))).toMatchObject({ code: 'recoat-closed', allowedFrom: at(300) });
  });

  it('cannot tell while a predecessor is unfinished, and can when it was finished later than that moment', () => {
    expect(hindranceAt([before({ finishedAt: null }), recoat], at(100))).toMatchObject({
      code: 'predecessor-unfinished',
      allowedFrom: null,
    });
    expect(hindranceAt([recoat], at(-1))).toMatchObject({ code: 'predecessor-unfinished', allowedFrom: at(15) });
    expect(hindranceAt([], at(0))).toBeNull();
  });
});

describe('the standard routes', () => {
  it.each(standardRoutes.map((route) => [route.name, route] as const))(
    '%s is a sound route of one start and one end',
    (_name, given) => {
      const { tasks } = RouteCreate.parse(given);
      expect(tasks.length).toBeGreaterThanOrEqual(12);
      expect(tasks.length).toBeLessThanOrEqual(17);
      expect(tasks.filter((task) => task.after.length === 0).map(({ code }) => code)).toEqual(['wash']);
      const followed = new Set(tasks.flatMap((task) => task.after.map(({ code }) => code)));
      expect(tasks.filter(({ code }) => !followed.has(code)).map(({ code }) => code)).toEqual(['safety']);
      for (const coat of tasks.filter(({ placeKind }) => placeKind === 'sprayArea')) {
        expect(coat).toMatchObject({ pausable: false, needsPaintWeather: true, people: 1 });
        expect(coat.cautions).toContain('solventVapour');
      }
      // Two weeks on the rack, a day after the last coat: common practice, no source.
      expect(tasks.find(({ kind }) => kind === 'cure')).toMatchObject({
        cureMinutes: 20160,
        people: 0,
        placeKind: 'cureRack',
        after: [{ code: 'clear', minWaitMinutes: 1440 }],
      });
      expect(tasks.find(({ kind }) => kind === 'clear')!.cautions).toContain('isocyanate');
      expect(tasks.find(({ code }) => code === 'test-run')!.cautions).toContain('carbonMonoxide');
    },
  );
});

describe('words', () => {
  it('names the standards that the cautions rest on', () => {
    // From memory, each long established: NFPA 33 is the spray application standard, 29 CFR 1910.134 respiratory
    // protection, 29 CFR 1910.106 flammable liquids, ISO 8437 snow throwers.
    const standards = Object.fromEntries(
      cautionsFor(['solventVapour', 'isocyanate', 'fuelVapour', 'spinningAuger']).map((one) => [
        one.code,
        one.standard,
      ]),
    );
    expect(standards.solventVapour).toContain('NFPA 33');
    expect(standards.isocyanate).toContain('29 CFR 1910.134');
    expect(standards.fuelVapour).toContain('29 CFR 1910.106');
    expect(standards.spinningAuger).toContain('ISO 8437');
  });
});
