import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { type Claim, contradictions, supersede, type Supersession, supersessionChain, waysToServe } from './index.js';

const claim = (text: string, more: Partial<Claim> = {}): Claim => {
  const [partId, way, servesForId] = text.split(' ') as [string, string, string];
  return { id: text, partId, servesForId, bothWays: way === '<>', evidence: 'supplierSays', confidence: 0.8, ...more };
};

describe('ways to serve', () => {
  it('follows chains, in the claimed direction only, and shows the path', () => {
    const claims = [claim('A > B'), claim('B > C', { evidence: 'seenFitted', confidence: 0.9 }), claim('D <> C')];
    const ways = waysToServe(claims, 'C');
    expect(ways.map((w) => w.partId)).toEqual(['B', 'D', 'A']);
    const a = ways.find((w) => w.partId === 'A')!;
    expect(a.path.map((s) => s.claimId)).toEqual(['A > B', 'B > C']);
    expect(a.confidence).toBeCloseTo(0.72, 12);
    expect(a.reasons).toContain('Inferred over 2 claims');
    expect(waysToServe(claims, 'A')).toEqual([]);
    expect(waysToServe(claims, 'D').map((w) => w.partId)).toEqual(['C', 'B', 'A']);
  });

  it('joins conditions along the path, and drops what they exclude', () => {
    const claims = [
      claim('A > B', { conditions: { fromYear: 1990, toYear: 1999 } }),
      claim('B > C', { conditions: { fromYear: 1995, position: 'left' } }),
      claim('Z > B', { conditions: { toYear: 1990 } }),
    ];
    const ways = waysToServe(claims, 'C');
    expect(ways.find((w) => w.partId === 'A')!.conditions).toEqual({ position: 'left', fromYear: 1995, toYear: 1999 });
    expect(ways.find((w) => w.partId === 'Z')).toBeUndefined();
    expect(waysToServe(claims, 'C', { year: 1997, position: 'Left' }).map((w) => w.partId)).toEqual(['B', 'A']);
    expect(waysToServe(claims, 'C', { position: 'right' })).toEqual([]);
  });

  it('keeps a surer way under conditions beside a looser one without', () => {
    const claims = [
      claim('A > B', { id: 'sure', confidence: 0.95, conditions: { mounting: 'two-bolt' } }),
      claim('A > B', { id: 'loose', confidence: 0.5 }),
      claim('A > B', { id: 'useless', confidence: 0.4 }),
    ];
    expect(waysToServe(claims, 'B').map((w) => w.path[0]!.claimId)).toEqual(['sure', 'loose']);
    expect(waysToServe(claims, 'B', { mounting: 'three-bolt' }).map((w) => w.path[0]!.claimId)).toEqual(['loose']);
  });

  it('flags what another claim denies, directly or across the path, and puts it last', () => {
    const claims = [
      claim('A > B'),
      claim('B > C'),
      claim('X > C', { confidence: 0.2 }),
      claim('A > C', { id: 'no', refuted: true, evidence: 'measuredSame' }),
    ];
    const ways = waysToServe(claims, 'C');
    expect(ways.map((w) => [w.partId, w.contradictedBy])).toEqual([
      ['B', []],
      ['X', []],
      ['A', ['no']],
    ]);
    expect(contradictions(claims)).toMatchObject([{ refutedBy: 'no', partId: 'A', servesForId: 'C' }]);
    expect(contradictions(claims)[0]!.path).toHaveLength(2);
    expect(contradictions(claims)[0]!.reasons).toContain(
      'A was found not to serve for C (measured), yet A serves for B',
    );
    // A denial for other years contradicts nothing.
    const elsewhere = [
      claim('A > B', { conditions: { toYear: 1990 } }),
      claim('A > B', { id: 'no', refuted: true, conditions: { fromYear: 2000 } }),
    ];
    expect(contradictions(elsewhere)).toEqual([]);
    expect(waysToServe(elsewhere, 'B')[0]!.contradictedBy).toEqual([]);
  });

  it('refuses claims that say nothing', () => {
    expect(() => waysToServe([claim('A > A')], 'A')).toThrow('serves for itself');
    expect(() => waysToServe([claim('A > B', { confidence: 1.2 })], 'B')).toThrow('outside 0 to 1');
  });

  const claims = fc
    .array(
      fc.record({
        from: fc.nat(6),
        to: fc.nat(6),
        bothWays: fc.boolean(),
        confidence: fc.double({ min: 0.05, max: 1, noNaN: true }),
      }),
      { maxLength: 18 },
    )
    .map((rows) =>
      rows
        .filter((r) => r.from !== r.to)
        .map((r, k): Claim => ({
          id: `${k}`,
          partId: `${r.from}`,
          servesForId: `${r.to}`,
          bothWays: r.bothWays,
          confidence: r.confidence,
          evidence: 'supplierSays',
        })),
    );

  it('finds exactly what can be reached, by the best product of confidences (against matrix closure)', () => {
    fc.assert(
      fc.property(claims, (made) => {
        // Floyd–Warshall over (max, ×), written apart from the search it checks.
        const best = Array.from({ length: 7 }, () => Array<number>(7).fill(0));
        for (const c of made) {
          best[+c.partId]![+c.servesForId] = Math.max(best[+c.partId]![+c.servesForId]!, c.confidence);
          if (c.bothWays) best[+c.servesForId]![+c.partId] = Math.max(best[+c.servesForId]![+c.partId]!, c.confidence);
        }
        for (let k = 0; k < 7; k++)
          for (let i = 0; i < 7; i++)
            for (let j = 0; j < 7; j++) {
              best[i]![j] = Math.max(best[i]![j]!, best[i]![k]! * best[k]![j]!);
            }
        const ways = waysToServe(made, '0');
        for (let i = 1; i < 7; i++) {
          const mine = ways.filter((w) => w.partId === `${i}`);
          expect(mine.length).toBe(best[i]![0]! > 0 ? 1 : 0);
          if (mine[0]) expect(mine[0].confidence).toBeCloseTo(best[i]![0]!, 12);
        }
      }),
      { numRuns: 200 },
    );
  });
});

describe('supersession', () => {
  const links: Supersession[] = [
    { oldId: 'N-100', newId: 'N-200' },
    { oldId: 'N-200', newId: 'N-300' },
  ];

  it('follows to the current number', () => {
    expect(supersessionChain(links, 'N-100')).toEqual(['N-100', 'N-200', 'N-300']);
    expect(supersessionChain(links, 'N-300')).toEqual(['N-300']);
  });

  it('refuses a circle, naming it, and a second successor', () => {
    expect(() => supersede(links, { oldId: 'N-300', newId: 'N-100' })).toThrow('N-300 → N-100 → N-200 → N-300');
    expect(() => supersede(links, { oldId: 'N-9', newId: 'N-9' })).toThrow('N-9 → N-9');
    expect(() => supersede(links, { oldId: 'N-100', newId: 'N-400' })).toThrow('already superseded by N-200');
    expect(supersede(links, links[0]!)).toEqual(links);
    expect(() => supersessionChain([...links, { oldId: 'N-300', newId: 'N-200' }], 'N-100')).toThrow('circle');
  });

  it('links added one by one never close a circle', () => {
    const link = fc.record({
      oldId: fc.constantFrom('a', 'b', 'c', 'd', 'e'),
      newId: fc.constantFrom('a', 'b', 'c', 'd', 'e'),
    });
    fc.assert(
      fc.property(fc.array(link), (made) => {
        let kept: Supersession[] = [];
        for (const one of made) {
          try {
            kept = supersede(kept, one);
          } catch {
            /* refused */
          }
        }
        for (const id of 'abcde')
          expect(new Set(supersessionChain(kept, id)).size).toBe(supersessionChain(kept, id).length);
      }),
      { numRuns: 200 },
    );
  });
});
