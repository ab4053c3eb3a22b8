import { describe, expect, it } from '@jest/globals';
import { firstSteps } from '../../work/first-steps.js';
import { claimsIn } from './seller-claims.js';

describe("a seller's claims", () => {
  it.each([
    ['Ran last winter.', [['Engine', 'Ran last winter']]],
    [
      'Ran last winter, starter smokes but belts are new',
      [
        ['Engine', 'Ran last winter'],
        ['Starter', 'starter smokes'],
        ['Belt', 'belts are new'],
      ],
    ],
    [
      'Carb cleaned 2 years ago; needs a chute crank.\nShear pins 1.5 in, spare set',
      [
        ['Carburettor', 'Carb cleaned 2 years ago'],
        ['Chute', 'needs a chute crank'],
        ['Whole machine', 'Shear pins 1.5 in'],
        ['Whole machine', 'spare set'],
      ],
    ],
    ['', []],
    ['  . ; , ', []],
    [null, []],
  ])('%j', (text, expected) => {
    expect(claimsIn(text).map((claim) => [claim.component, claim.words])).toEqual(expected);
  });
  it('are a dozen at most, each short enough for a finding', () => {
    const claims = claimsIn(Array.from({ length: 40 }, (_, index) => `claim ${index} ${'x'.repeat(900)}`).join('. '));
    expect(claims).toHaveLength(12);
    expect(Math.max(...claims.map((claim) => claim.words.length))).toBe(400);
  });
});

describe('the first steps', () => {
  const titles = (over: Partial<Parameters<typeof firstSteps>[0]>) =>
    firstSteps({ kind: 'twoStageThrower', engineType: null, words: [], equipment: [], ...over }).map(
      (one) => one.title,
    );
  // Common practice, no source: nothing is touched before the engine cannot fire; fuel is out before anything is tipped.
  it('take the spark away first, and fuel before it is put on stands', () => {
    expect(titles({})).toEqual([
      'Key out, plug wire off',
      'Nothing by hand in chute or auger',
      'Fuel out, outdoors',
      'Standing fast',
    ]);
    expect(titles({ kind: 'walkBehindMower' })).toEqual([
      'Key out, plug wire off',
      'Blade wedged before you reach under',
      'Fuel out, outdoors',
    ]);
  });
  it('leave a starter alone that is said to smoke, whoever says so in whichever order', () => {
    for (const words of [['starter smokes'], ['Smoke from the electric start'], ['burnt smell at the starter']])
      expect(titles({ words, equipment: ['Electric starter'] })).toContain('Starter stays off');
    expect(titles({ words: ['starts at once', 'muffler gets hot'] })).not.toContain('Starter stays off');
    expect(titles({ equipment: ['Electric starter'] })).toContain('Starter cord out');
  });
  it('ask an electric machine for its plug, not for its fuel', () => {
    expect(titles({ kind: 'singleStageThrower', engineType: 'electric' })).toEqual([
      'Current off',
      'Nothing by hand in chute or auger',
    ]);
  });
});
