/** Work from findings. Access counts are worked by hand from the small tree of the fixture: cover 5+6, belt 7+9, bearing 10+12 minutes. */
import { describe, expect, it } from '@jest/globals';
import { accessFor } from './component.js';
import { found, jobOf, knowledge, smallTree, task } from './proposal.fixture.js';
import { type FoundOnJob, type Proposal, proposalsOf } from './proposal.js';
import { sharedAccess, workOf } from './work.js';

const propose = (job: FoundOnJob, more = {}) => proposalsOf(job, knowledge(more));
const single = (job: FoundOnJob, more = {}): Proposal => propose(job, more)[0]!;

describe('what must come off', () => {
  it.each([
    // pulley: cover and belt. 5 + 7 off, 6 + 9 on.
    [['pulley'], ['cover', 'belt'], 12, 15],
    // shaft: cover, belt, bearing. 22 off, 27 on.
    [['shaft'], ['cover', 'belt', 'bearing'], 22, 27],
    // Both: cover and belt once. The same as the shaft alone.
    [['pulley', 'shaft'], ['cover', 'belt', 'bearing'], 22, 27],
    [['belt', 'paddles'], ['cover'], 5, 6],
    [['shell', null], [], 0, 0],
  ])('%j: %j', (targets, codes, takeMinutes, refitMinutes) => {
    expect(accessFor(smallTree, targets)).toEqual({ codes, takeMinutes, refitMinutes });
  });

  it('does not count what is replaced anyway, nor what is off', () => {
    const job = jobOf([found('belt', 'replace'), found('pulley', 'repair')]);
    // The belt comes off with its own replacement: the cover alone is left.
    expect(sharedAccess(job, propose(job), knowledge())).toEqual({ codes: ['cover'], takeMinutes: 5, refitMinutes: 6 });
    expect(accessFor(smallTree, ['shaft'], new Set(['cover', 'belt']))).toEqual({
      codes: ['bearing'],
      takeMinutes: 10,
      refitMinutes: 12,
    });
  });

  it('is nothing while the route has the machine apart, and something again once it is together', () => {
    const finding = found('pulley', 'repair');
    const apart = jobOf(
      [finding],
      [task('strip', 'strip', { startedDate: '2026-09-01', finishedDate: '2026-09-01' }), task('assemble', 'assemble')],
    );
    expect(sharedAccess(apart, propose(apart), knowledge()).codes).toEqual([]);
    const together = {
      ...apart,
      tasks: apart.tasks.map((one) => ({ ...one, startedDate: '2026-09-02', finishedDate: '2026-09-02' })),
    };
    expect(sharedAccess(together, propose(together), knowledge()).codes).toEqual(['cover', 'belt']);
  });
});

describe('proposals', () => {
  it('are one for a component, by the strongest verdict, and none for what serves on', () => {
    const job = jobOf([found('belt', 'repair'), found('belt', 'replace'), found('paddles', 'serveOn')]);
    expect(propose(job).map(({ title, findingIds }) => [title, findingIds.length])).toEqual([['Replace the belt', 2]]);
  });

  it('move from the usual hours towards those of own jobs: two usual of 20 and two own of 50 make 35', () => {
    const past = [50, 50].map((minutes) => ({ component: 'belt', verdict: 'replace' as const, minutes }));
    expect(single(jobOf([found('belt', 'replace')]), { past }).minutes).toEqual({ min: 18, likely: 35, max: 70 });
  });

  it("take the route's own task for it, and its hours where the job has none", () => {
    const route = [
      { code: 'paddles', name: 'Fit the paddles', min: 11, likely: 33, max: 66, placeKind: 'bench', cautions: [] },
    ];
    expect(single(jobOf([found('paddles', 'replace')]), { route }).minutes.likely).toBe(33);
    const job = jobOf([found('paddles', 'replace')], [task('paddles', 'parts')]);
    expect(single(job, { route })).toMatchObject({ doneByTaskId: 'id-paddles', minutes: { likely: 0 } });
    const finished = jobOf(
      [found('paddles', 'replace')],
      [task('paddles', 'parts', { startedDate: '2026-09-01', finishedDate: '2026-09-01' })],
    );
    expect(single(finished, { route }).doneByTaskId).toBeNull();
  });

  it('take longer on rust: 20 minutes at grade 4 are 36', () => {
    expect(single(jobOf([found('belt', 'replace', { rustGrade: 4 })])).minutes.likely).toBe(36);
  });

  it('add nothing for a second finding, and take the place of weaker work', () => {
    const agreed = found('belt', 'replace', { decision: 'accepted', taskIds: ['id-replace-belt'] });
    const tasks = [task('replace-belt', 'parts')];
    expect(single(jobOf([agreed, found('belt', 'replace')], tasks)).doneByTaskId).toBe('id-replace-belt');
    expect(single(jobOf([agreed, found('belt', 'repair')], tasks)).doneByTaskId).toBe('id-replace-belt');
    expect(single(jobOf([{ ...agreed, verdict: 'repair' }, found('belt', 'replace')], tasks))).toMatchObject({
      doneByTaskId: null,
      replacesTaskIds: ['id-replace-belt'],
    });
    // Left and right are two.
    const left = found('bearing', 'replace', { position: 'left', decision: 'accepted', taskIds: ['id-replace-belt'] });
    expect(single(jobOf([left, found('bearing', 'replace', { position: 'right' })], tasks)).doneByTaskId).toBeNull();
  });
});

describe('accepted work', () => {
  it('opens the machine once, does the work, paints what was laid bare, and closes before it is tried out', () => {
    const job = jobOf(
      [found('pulley', 'repair'), found('shaft', 'replace'), found('shell', 'repair')],
      [task('wash', 'clean'), task('test-run', 'test')],
    );
    const work = workOf(job, propose(job), knowledge());
    expect(work.tasks.map(({ code, minutes }) => [code, minutes.likely])).toEqual([
      ['repair-pulley', 40],
      ['replace-shaft', 20],
      ['repair-shell', 40],
      ['open-1', 22],
      ['close-1', 27],
      ['touch-up-prime', 20],
      ['touch-up-colour', 20],
    ]);
    const after = (code: string) =>
      work.links
        .filter((link) => link.task === code)
        .map((link) => link.predecessor)
        .sort();
    expect(after('open-1')).toEqual(['id-wash']);
    expect(after('repair-pulley')).toEqual(['open-1']);
    expect(after('repair-shell')).toEqual(['id-wash']);
    expect(after('close-1')).toEqual(['open-1', 'repair-pulley', 'repair-shell', 'replace-shaft', 'touch-up-colour']);
    expect(after('id-test-run')).toEqual([
      'close-1',
      'repair-pulley',
      'repair-shell',
      'replace-shaft',
      'touch-up-colour',
    ]);
  });

  it('welds before the primer of the route, and wants no coat beside it', () => {
    const job = jobOf(
      [found('shell', 'repair')],
      [task('strip', 'strip'), task('prime-1', 'prime'), task('assemble', 'assemble')],
    );
    const work = workOf(job, propose(job), knowledge());
    expect(work.tasks.map(({ code }) => code)).toEqual(['repair-shell']);
    expect(work.links.map(({ task: one, predecessor }) => [predecessor, one])).toEqual([
      ['id-strip', 'repair-shell'],
      ['repair-shell', 'id-prime-1'],
    ]);
  });
});
