import { describe, expect, it } from '@jest/globals';
import { findCycle } from './graph.js';

describe('a cycle', () => {
  it('is named in its order', () => {
    expect(
      findCycle([
        ['a', 'b'],
        ['b', 'c'],
        ['x', 'b'],
        ['c', 'a'],
      ]),
    ).toEqual(['a', 'b', 'c', 'a']);
    expect(findCycle([['a', 'a']])).toEqual(['a', 'a']);
    expect(
      findCycle([
        ['start', 'b'],
        ['b', 'c'],
        ['c', 'b'],
      ]),
    ).toEqual(['b', 'c', 'b']);
  });
  it('is not found in a diamond', () => {
    expect(
      findCycle([
        ['a', 'b'],
        ['a', 'c'],
        ['b', 'd'],
        ['c', 'd'],
      ]),
    ).toBeNull();
  });
});
