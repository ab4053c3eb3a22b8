/**
 * Random sets of findings on random jobs, accepted in random portions: nothing twice, no circle, no task without a cause, and
 * the same minutes of taking apart whether all is accepted at once or one after the other. Seeded, so that it fails again.
 */
import { expect, it } from '@jest/globals';
import {
  type Found,
  type FoundOnJob,
  type JobTask,
  proposalsOf,
  type WorkAdded,
  workOf,
} from '../../engine/diagnosis/index.js';
import { Random } from '../../engine/statistics/random.js';
import { treeOf } from '../components/index.js';

const KINDS = ['singleStageThrower', 'twoStageThrower', 'walkBehindMower', 'other'];
const ROUTE: [code: string, kind: string][] = [
  ['wash', 'clean'],
  ['diagnose', 'diagnose'],
  ['strip', 'strip'],
  ['derust', 'derust'],
  ['prime-1', 'prime'],
  ['colour-1', 'colour'],
  ['engine', 'service'],
  ['paddles', 'parts'],
  ['scraper-bar', 'parts'],
  ['assemble', 'assemble'],
  ['test-run', 'test'],
];

const random = new Random(20_261_129, 3);
const draw = (): number => random.next();
const pick = <T>(all: readonly T[]): T => all[Math.floor(draw() * all.length)]!;

function randomJob(serial: number): { job: FoundOnJob; kind: string } {
  const kind = pick(KINDS);
  const kept = ROUTE.filter(() => draw() < 0.6);
  // Some jobs have begun: their first tasks are done.
  const done = draw() < 0.4 ? Math.floor(draw() * kept.length) : 0;
  const tasks = kept.map(([code, taskKind], index): JobTask => ({
    id: `${serial}-${code}`,
    code,
    name: code,
    kind: taskKind,
    startedDate: index < done ? '2026-09-01' : null,
    finishedDate: index < done ? '2026-09-01' : null,
  }));
  const links = tasks
    .slice(1)
    .map((task, index) => ({ taskId: task.id, predecessorId: tasks[Math.floor(draw() * (index + 1))]!.id }));
  const { components } = treeOf(kind);
  const findings = Array.from({ length: 1 + Math.floor(draw() * 12) }, (_, k): Found => {
    const component = draw() < 0.85 ? pick(components) : null;
    return {
      id: `f${serial}-${k}`,
      componentCode: component?.code ?? null,
      component: component?.name ?? pick(['Odd bracket', 'Weld on the left', 'odd bracket']),
      position: component && component.positions.length > 0 ? pick(component.positions) : null,
      verdict: pick(['serveOn', 'repair', 'replace', 'remove', 'replace']),
      rustGrade: draw() < 0.3 ? Math.floor(draw() * 6) : null,
      foundDate: pick(['2026-08-30', '2026-09-02']),
      decision: draw() < 0.1 ? 'refused' : null,
      taskIds: [],
    };
  });
  return { kind, job: { tasks, links, takenCodes: tasks.map(({ code }) => code), findings, paints: draw() < 0.5 } };
}

/** The job as its records stand once the work has been written. */
function written(job: FoundOnJob, work: WorkAdded, accepted: ReadonlySet<string>): FoundOnJob {
  const skipped = new Set(work.skipped.map((one) => one.taskId));
  const made = work.tasks.map((task): JobTask => ({
    id: `new-${task.code}`,
    code: task.code,
    name: task.name,
    kind: task.kind,
    startedDate: null,
    finishedDate: null,
  }));
  const idOf = (name: string): string => (work.tasks.some((task) => task.code === name) ? `new-${name}` : name);
  return {
    ...job,
    tasks: [...job.tasks.filter((task) => !skipped.has(task.id)), ...made],
    links: [
      ...job.links,
      ...work.links.map((link) => ({ taskId: idOf(link.task), predecessorId: idOf(link.predecessor) })),
    ],
    takenCodes: [...job.takenCodes, ...made.map(({ code }) => code)],
    findings: job.findings.map((one) => ({
      ...one,
      decision: accepted.has(one.id) ? 'accepted' : one.decision,
      taskIds: [
        ...one.taskIds.filter((id) => !skipped.has(id)),
        ...work.tasks.filter((task) => task.findingIds.includes(one.id)).map((task) => `new-${task.code}`),
        ...work.traced.filter((trace) => trace.findingId === one.id).map((trace) => trace.taskId),
      ],
    })),
  };
}

/** Kahn's algorithm: an order exists exactly if there is no circle. */
function hasOrder(job: FoundOnJob): boolean {
  const left = new Map(
    job.tasks.map((task) => [
      task.id,
      job.links.filter((link) => link.taskId === task.id).map((link) => link.predecessorId),
    ]),
  );
  for (let removed = true; removed;) {
    removed = false;
    for (const [id, before] of left)
      if (!before.some((one) => left.has(one))) {
        left.delete(id);
        removed = true;
      }
  }
  return left.size === 0;
}

const accessMinutes = (works: readonly WorkAdded[]): number =>
  works.reduce((sum, { access }) => sum + access.takeMinutes + access.refitMinutes, 0);
const check = (job: FoundOnJob, before: FoundOnJob): void => {
  const codes = job.tasks.map(({ code }) => code);
  expect(new Set(codes).size).toBe(codes.length);
  expect(hasOrder(job)).toBe(true);
  const pairs = job.links.map((link) => `${link.predecessorId} ${link.taskId}`);
  expect(new Set(pairs).size).toBe(pairs.length);
  const old = new Set(before.tasks.map((task) => task.id));
  for (const task of job.tasks)
    if (!old.has(task.id))
      expect(job.findings.some((one) => one.decision === 'accepted' && one.taskIds.includes(task.id))).toBe(true);
  // One piece of work a component and place, whatever the number of findings.
  const worked = job.findings
    .filter((one) => one.decision === 'accepted')
    .flatMap((one) =>
      one.taskIds
        .filter((id) => /^new-(repair|replace|remove)-/.test(id))
        .map((id) => `${one.componentCode ?? one.component.toLowerCase()}|${one.position}|${id}`),
    );
  const places = [...new Set(worked)].map((one) => one.split('|').slice(0, 2).join('|'));
  expect(new Set(places).size).toBe(places.length);
};

it('500 random sets of findings', () => {
  let tasks = 0;
  let shared = 0;
  for (let serial = 0; serial < 500; serial++) {
    const { job, kind } = randomJob(serial);
    expect(hasOrder(job)).toBe(true);
    const known = { tree: treeOf(kind), past: [], route: [] };
    const whole = workOf(job, proposalsOf(job, known), known);
    const all = new Set(proposalsOf(job, known).flatMap((one) => one.findingIds));
    const atOnce = written(job, whole, all);
    check(atOnce, job);
    expect(proposalsOf(atOnce, known)).toEqual([]);
    tasks += whole.tasks.length;
    let step = job;
    const works: WorkAdded[] = [];
    for (let open = proposalsOf(step, known); open.length > 0; open = proposalsOf(step, known)) {
      const portion = open.filter((_, index) => index === 0 || draw() < 0.3);
      const work = workOf(step, portion, known);
      works.push(work);
      const next = written(step, work, new Set(portion.flatMap((one) => one.findingIds)));
      check(next, step);
      step = next;
    }
    // What is replaced comes off with its own work: known at once it saves, known later it was counted already.
    expect(accessMinutes(works)).toBeGreaterThanOrEqual(accessMinutes([whole]));
    if (job.findings.every((one) => one.verdict === 'repair' || one.verdict === 'serveOn' || one.decision)) {
      expect(accessMinutes(works)).toBe(accessMinutes([whole]));
      shared += 1;
    }
  }
  // The sets are not trivial.
  expect(tasks).toBeGreaterThan(2000);
  expect(shared).toBeGreaterThan(5);
});
