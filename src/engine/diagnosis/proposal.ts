/** What findings suggest: work, in what it takes beyond what is planned already. */
import type { Component, ComponentPosition, ComponentTree, Minutes } from './component.js';
import { hoursFactorOfRust, rustScale } from './rust.js';

export type Verdict = 'verify' | 'serveOn' | 'repair' | 'replace' | 'remove';
/** A verdict that makes work; the later outdoes the earlier where a component has several. */
export const workVerdicts = ['repair', 'replace', 'remove'] as const;
export type WorkVerdict = (typeof workVerdicts)[number];

export interface JobTask {
  id: string;
  code: string;
  name: string;
  kind: string;
  startedDate: string | null;
  finishedDate: string | null;
}

export interface Found {
  id: string;
  /** Null for a component in somebody's own words. */
  componentCode: string | null;
  component: string;
  position: ComponentPosition | null;
  verdict: Verdict;
  rustGrade: number | null;
  foundDate: string;
  decision: 'accepted' | 'refused' | null;
  /** The unskipped tasks that are for it. */
  taskIds: readonly string[];
}

/** One open job as its records tell. Tasks that were skipped or archived are not among its tasks. */
export interface FoundOnJob {
  tasks: readonly JobTask[];
  links: readonly { taskId: string; predecessorId: string }[];
  /** Codes that the job has or had, skipped and archived tasks' among them. */
  takenCodes: readonly string[];
  findings: readonly Found[];
  /** Bare metal gets a coat: not where the job leaves paint as it is. */
  paints: boolean;
}

/** Hands-on minutes that such work took on one of the shop's own past jobs. */
export interface PastWork {
  component: string;
  verdict: WorkVerdict;
  minutes: number;
}

export interface RouteStep {
  code: string;
  name: string;
  min: number;
  likely: number;
  max: number;
  placeKind: string | null;
  cautions: readonly string[];
}

export interface Knowledge {
  tree: ComponentTree;
  past: readonly PastWork[];
  /** The tasks of the shop's own route for the kind of machine. */
  route: readonly RouteStep[];
}

export interface Proposal {
  /** The findings it answers, the oldest first: it is known by the first. */
  findingIds: string[];
  componentCode: string | null;
  component: string;
  position: ComponentPosition | null;
  verdict: WorkVerdict;
  title: string;
  /** Hands-on, beyond what is planned already, without what must come off to reach it. */
  minutes: Minutes;
  /** What must come off to reach it, taken by itself; what is off already is not among it. */
  reach: string[];
  placeKind: string | null;
  cautions: string[];
  /** The task of the job that does it anyway. */
  doneByTaskId: string | null;
  /** Tasks of weaker verdicts on the same component that it takes the place of. */
  replacesTaskIds: string[];
  /** Bare metal is left that wants a coat, and no coat of the job is still to come. */
  coats: boolean;
  reasons: string[];
}

/** So many cases is the usual figure worth beside the shop's own. A judgement, no source. */
const USUAL_WEIGHT = 2;
/** Of a component in somebody's own words. Judgement, no source. */
const UNKNOWN: Record<WorkVerdict, Minutes> = {
  repair: { min: 20, likely: 60, max: 180 },
  replace: { min: 15, likely: 40, max: 120 },
  remove: { min: 10, likely: 20, max: 60 },
};
const WORDS: Record<WorkVerdict, string> = { repair: 'Repair', replace: 'Replace', remove: 'Take off' };

export const nameOf = (found: Pick<Found, 'component' | 'componentCode'>): string =>
  found.componentCode ?? found.component.toLowerCase().trim();
const placeOf = (found: Found): string => `${nameOf(found)}|${found.position ?? ''}`;

/** The undecided findings of a job that make work, a proposal for each component. */
export function proposalsOf(job: FoundOnJob, knowledge: Knowledge): Proposal[] {
  const groups = new Map<string, Found[]>();
  for (const found of job.findings) {
    if (found.decision || strength(found.verdict) < 0) continue;
    groups.set(placeOf(found), [...(groups.get(placeOf(found)) ?? []), found]);
  }
  return [...groups.values()].map((group) => proposalOf(group, job, knowledge));
}

const strength = (verdict: Verdict): number => workVerdicts.indexOf(verdict as WorkVerdict);

function proposalOf(group: readonly Found[], job: FoundOnJob, knowledge: Knowledge): Proposal {
  const found = group.reduce((best, one) => (strength(one.verdict) > strength(best.verdict) ? one : best));
  const verdict = found.verdict as WorkVerdict;
  const component = knowledge.tree.get(found.componentCode);
  const name = component?.name ?? found.component;
  const where = found.position ? `${found.position} ` : '';
  const step = component?.routeTask ? knowledge.route.find(({ code }) => code === component.routeTask) : undefined;
  const agreed = agreedWork(found, job);
  const own = job.tasks.find(
    // What was finished on a later day than it was found has seen to it.
    (task) => agreed.sameOrMore.has(task.id) && (!task.finishedDate || task.finishedDate > found.foundDate),
  );
  const route = own ? undefined : routeTaskFor(component, verdict, job);
  const doneBy = own ?? route ?? null;
  const grade = Math.max(0, ...group.map((one) => one.rustGrade ?? 0));
  const usual = usualMinutes(verdict, component, step);
  const { minutes, reasons } = fromPast(usual, { name: nameOf(found), verdict }, knowledge.past, step);
  const factor = hoursFactorOfRust(grade);
  const coatComes = job.tasks.some((task) => task.kind === 'prime' && !task.startedDate);
  return {
    findingIds: group.map((one) => one.id),
    componentCode: component?.code ?? null,
    component: name,
    position: found.position,
    verdict,
    title: `${WORDS[verdict]} the ${where}${name.toLowerCase()}`,
    minutes: doneBy ? { min: 0, likely: 0, max: 0 } : times(minutes, factor),
    reach: component && !doneBy ? knowledge.tree.reach([component.code]) : [],
    placeKind: step?.placeKind ?? 'bench',
    cautions: [
      ...new Set([...(component?.cautions ?? []), ...(component?.welded && verdict === 'repair' ? ['hotWork'] : [])]),
    ],
    doneByTaskId: doneBy?.id ?? null,
    replacesTaskIds: doneBy
      ? []
      : job.tasks.filter((task) => agreed.less.has(task.id) && !task.startedDate).map(({ id }) => id),
    coats: Boolean(job.paints && component?.welded && verdict === 'repair' && !doneBy && !coatComes),
    reasons: [
      ...(own ? [`"${own.name}" does it already: a finding more adds nothing`] : []),
      ...(route ? [`"${route.name}" of its route does it anyway`] : []),
      ...(doneBy ? [] : reasons),
      ...(!doneBy && factor > 1
        ? [
            `${Math.round(100 * (factor - 1))} % longer for rust of grade ${grade}: ${rustScale[grade]?.threads.toLowerCase()}`,
          ]
        : []),
      ...(group.length > 1 ? [`${group.length} findings say so; the strongest verdict counts`] : []),
    ],
  };
}

/**
 * The tasks already agreed on for the same component: those of the same or a stronger verdict, and those of weaker ones. What
 * was finished before the finding was made has been used up.
 */
function agreedWork(found: Found, job: FoundOnJob): { sameOrMore: Set<string>; less: Set<string> } {
  const sameOrMore = new Set<string>();
  const less = new Set<string>();
  for (const other of job.findings) {
    if (other.decision !== 'accepted' || placeOf(other) !== placeOf(found)) continue;
    for (const id of other.taskIds) {
      const task = job.tasks.find((one) => one.id === id);
      // What opens the machine up or closes it is no work on the component.
      if (!task || isAccessTask(task) || isTouchUp(task)) continue;
      (strength(other.verdict) >= strength(found.verdict) ? sameOrMore : less).add(id);
    }
  }
  return { sameOrMore, less };
}

/** A task of the route still to be done which is just this work, or in which the component is seen to. */
function routeTaskFor(component: Component | null, verdict: WorkVerdict, job: FoundOnJob): JobTask | undefined {
  if (!component) return undefined;
  const codes = [...(component.routeTask && verdict !== 'remove' ? [component.routeTask] : []), ...component.seenToIn];
  return job.tasks.find((task) => !task.finishedDate && codes.includes(task.code));
}

function usualMinutes(verdict: WorkVerdict, component: Component | null, step: RouteStep | undefined): Minutes {
  if (step && verdict === 'replace') return { min: step.min, likely: step.likely, max: step.max };
  return component?.work[verdict] ?? UNKNOWN[verdict];
}

/** The usual minutes moved towards what the shop's own jobs took. */
function fromPast(
  usual: Minutes,
  { name, verdict }: { name: string; verdict: WorkVerdict },
  past: readonly PastWork[],
  step: RouteStep | undefined,
): { minutes: Minutes; reasons: string[] } {
  const own = past.filter((one) => one.component === name && one.verdict === verdict);
  const origin = step && verdict === 'replace' ? `"${step.name}" of the route` : 'the usual';
  if (own.length === 0)
    return { minutes: usual, reasons: [`${usual.likely} minutes: ${origin}, no own job of it yet`] };
  const sum = own.reduce((all, one) => all + one.minutes, 0);
  const likely = (USUAL_WEIGHT * usual.likely + sum) / (USUAL_WEIGHT + own.length);
  return {
    minutes: times(usual, likely / usual.likely),
    reasons: [
      `${Math.round(likely)} minutes: ${own.length} own ${own.length === 1 ? 'job' : 'jobs'} took ` +
        `${Math.round(sum / own.length)} on average, ${origin} is ${usual.likely}`,
    ],
  };
}

const times = ({ min, likely, max }: Minutes, factor: number): Minutes => ({
  min: Math.round(min * factor),
  likely: Math.max(1, Math.round(likely * factor)),
  max: Math.max(1, Math.round(max * factor)),
});

/** Codes of tasks that open a machine up for accepted work and close it again, and of the coats on what that laid bare. */
export const OPEN_CODE = /^open-(\d+)$/;
export const CLOSE_CODE = /^close-(\d+)$/;
export const isAccessTask = ({ code }: Pick<JobTask, 'code'>): boolean => OPEN_CODE.test(code) || CLOSE_CODE.test(code);
export const isTouchUp = ({ code }: Pick<JobTask, 'code'>): boolean => code.startsWith('touch-up-');
