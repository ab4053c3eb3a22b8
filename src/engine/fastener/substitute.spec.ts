import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { type Joint, judgeSubstitute, parseDesignation, rankSubstitutes } from './index.js';

// The rules are the trade's (common practice, no source); issue text: same thread, head function and standard; length
// within a stated grip; grade equal or higher unless designed to fail; finish for corrosion; mixed metals warned.
const read = (text: string) => parseDesignation(text).fastener;
const judge = (wanted: string, offered: string, joint?: Joint) => judgeSubstitute(read(wanted), read(offered), joint);
const refusing = (wanted: string, offered: string, joint?: Joint) =>
  judge(wanted, offered, joint)
    .findings.filter((f) => f.verdict === 'refused')
    .map((f) => f.rule);
const warning = (wanted: string, offered: string, joint?: Joint) =>
  judge(wanted, offered, joint)
    .findings.filter((f) => f.verdict === 'warned')
    .map((f) => f.rule);

const WANTED = '5/16-18 x 1 hex, grade 5, zinc';
const GRIP = { fromMillimetres: 22, toMillimetres: 32 };

describe('ordinary fasteners', () => {
  it('the exact equal is exact', () => {
    const verdict = judge(WANTED, '5/16-18 UNC x 1 hex bolt, gr 5, zinc plated');
    expect(verdict).toMatchObject({ allowed: true, exact: true });
  });

  it.each([
    ['5/16-24 x 1 hex, grade 5, zinc', ['thread']],
    // 8.8 proves at 580 MPa, grade 5 at 85 ksi = 586 MPa: near, but weaker.
    ['M8 x 25 hex, 8.8, zinc', ['thread', 'length', 'strength']],
    ['5/16-18-LH x 1 hex, grade 5, zinc', ['thread']],
    ['5/16-18 x 1 carriage, grade 5, zinc', ['head']],
    ['5/16-18 hex nut', ['head', 'length', 'strength']],
    ['5/16-18 x 1-1/4 hex, grade 5, zinc', ['length']],
    ['5/16-18 x 1 hex, grade 2, zinc', ['strength']],
    ['5/16-18 x 1 hex, zinc', ['strength']],
    ['5/16-18 x 1 hex, grade 5, black oxide', ['finish']],
    ['5/16-18 x 1 hex, brass', ['strength']],
  ])('%s is refused for %j', (offered, rules) => {
    expect(refusing(WANTED, offered)).toEqual(rules);
    expect(judge(WANTED, offered).allowed).toBe(false);
  });

  it('inch and metric never mix, and the reason says so', () => {
    expect(judge(WANTED, 'M8 x 25 hex, 8.8').reasons[0]).toContain('never mix');
  });

  it('a length within the stated grip is allowed, outside it refused', () => {
    expect(judge(WANTED, '5/16-18 x 1-1/4 hex, grade 5, zinc', { grip: GRIP }).allowed).toBe(true);
    const long = judge(WANTED, '5/16-18 x 1-1/2 hex, grade 5, zinc', { grip: GRIP });
    expect(long.reasons[0]).toBe('Length 1-1/2 in lies outside the grip range 22 mm to 32 mm.');
  });

  it('a higher grade may stand in, with the torque of the lower', () => {
    const verdict = judge(WANTED, '5/16-18 x 1 hex, grade 8, zinc');
    expect(verdict.allowed).toBe(true);
    expect(verdict.reasons.join(' ')).toContain('tighten to the torque for grade 5');
    expect(judge('M8 x 25 hex, 8.8', 'M8 x 25 hex, 10.9').allowed).toBe(true);
    expect(refusing('M8 x 25 hex, 8.8', 'M8 x 25 hex, 5.8')).toEqual(['strength']);
    expect(refusing('M8 nut class 10', 'M8 nut class 8')).toEqual(['strength']);
  });

  it('a dry joint frees the finish', () => {
    expect(refusing(WANTED, '5/16-18 x 1 hex, grade 5, black oxide', { exposed: false })).toEqual([]);
  });

  it('mixed metals are never allowed without a warning', () => {
    expect(warning('1/4-20 x 1 hex, stainless', '1/4-20 x 1 hex, stainless')).toEqual(['metals']);
    expect(warning('1/4-20 x 1 hex, stainless', '1/4-20 x 1 hex, stainless', { material: 'stainless' })).toEqual([]);
    expect(warning(WANTED, WANTED, { material: 'aluminium' })).toEqual(['metals']);
    for (const material of ['steel', 'stainless', 'aluminium', 'brass'] as const) {
      for (const grade of ['stainless', 'brass', 'aluminium', '']) {
        const verdict = judge(`1/4-20 x 1 hex ${grade}`, `1/4-20 x 1 hex ${grade}`, { material });
        const same = (grade || 'steel') === material;
        expect(verdict.findings.find((f) => f.rule === 'metals')!.verdict).toBe(same ? 'same' : 'warned');
      }
    }
  });

  it('heads of one function, a lock nut for a plain one, and what is not said', () => {
    expect(warning('#10-24 x 1/2 pan, zinc', '#10-24 x 1/2 truss, zinc')).toContain('head');
    expect(judge('1/4-20 nut grade 5', '1/4-20 lock nut grade 5').allowed).toBe(true);
    expect(refusing('1/4-20 lock nut grade 5', '1/4-20 nut grade 5')).toEqual(['head']);
    expect(warning('M8 x 25 hex, 8.8, ISO 4017', 'M8 x 25 hex, 8.8')).toEqual(['standard']);
    expect(refusing('M10 x 25 hex, 8.8, ISO 4017', 'M10 x 25 hex, 8.8, DIN 933')).toEqual(['standard']);
  });

  it('ranks allowed before refused, exact before near, and keeps every offer', () => {
    const offers = [
      '5/16-18 x 1 hex, grade 2, zinc',
      '5/16-18 x 1-1/4 hex, grade 8, zinc',
      '5/16-18 x 1 hex, grade 8, zinc',
      '5/16-18 x 1 hex, grade 5, zinc',
      '5/16-24 x 2 carriage',
    ].map((text, k) => ({ id: k, fastener: read(text) }));
    const ranked = rankSubstitutes(read(WANTED), offers, { grip: GRIP });
    expect(ranked.map((r) => r.id)).toEqual([3, 2, 1, 0, 4]);
    expect(ranked.map((r) => r.verdict.allowed)).toEqual([true, true, true, false, false]);
  });
});

describe('shear pins and shear bolts', () => {
  const SHEAR = '1/4-20 x 1-1/2 hex shear bolt, grade 2, zinc';

  it('only the exact equal, with the reason said', () => {
    expect(judge(SHEAR, SHEAR)).toMatchObject({ allowed: true, exact: true });
    for (const offered of [
      '1/4-20 x 1-1/2 hex, grade 2, zinc',
      '1/4-20 x 1-1/2 hex, grade 8, zinc',
      '1/4-20 x 1-1/2 hex shear bolt, grade 5, zinc',
      '1/4-20 x 1-3/4 hex shear bolt, grade 2, zinc',
      '1/4-20 x 1-1/2 hex shear bolt, zinc',
    ]) {
      const verdict = judge(SHEAR, offered, { grip: { fromMillimetres: 10, toMillimetres: 100 } });
      expect(verdict.allowed).toBe(false);
      expect(verdict.reasons[0]).toContain('a stronger one passes the blow');
    }
  });

  it('equal but unstated is not shown to be equal', () => {
    expect(judge('1/4-20 x 1-1/2 hex shear bolt', '1/4-20 x 1-1/2 hex shear bolt').reasons[0]).toContain(
      'grade not stated',
    );
  });

  it('nor does a shear part stand in for an ordinary bolt', () => {
    expect(judge('1/4-20 x 1-1/2 hex, grade 2, zinc', SHEAR).allowed).toBe(false);
  });

  it('no offer that differs in anything is ever allowed', () => {
    const size = fc.constantFrom('1/4-20', '1/4-28', '5/16-18');
    const part = fc
      .record({
        size,
        length: fc.constantFrom('1', '1-1/2'),
        grade: fc.constantFrom('grade 2', 'grade 5', ''),
        finish: fc.constantFrom('zinc', 'plain', ''),
        head: fc.constantFrom('hex', ''),
      })
      .map((p) => `${p.size} x ${p.length} ${p.head} shear bolt, ${p.grade}, ${p.finish}`);
    fc.assert(
      fc.property(part, part, (wanted, offered) => {
        if (judge(wanted, offered).allowed) expect(offered).toBe(wanted);
      }),
      { numRuns: 300 },
    );
  });
});
