/** What accepted proposals add to a job: tasks in their order, each with the findings it is for. */
import { type Access, accessFor, type Minutes } from './component.js';
import {
  CLOSE_CODE,
  type FoundOnJob,
  isAccessTask,
  isTouchUp,
  type JobTask,
  type Knowledge,
  OPEN_CODE,
  type Proposal,
} from './proposal.js';

export interface NewTask {
  code: string;
  name: string;
  kind: 'strip' | 'assemble' | 'repair' | 'parts' | 'prime' | 'colour';
  minutes: Minutes;
  placeKind: string | null;
  pausable: boolean;
  needsPaintWeather: boolean;
  cautions: string[];
  /** Never empty: a task without a cause is none. */
  findingIds: string[];
}

/** A task that is there is named by its id, a new one by its code. */
export interface NewLink {
  task: string;
  predecessor: string;
  minWaitMinutes: number;
  forbiddenIntervals: { fromMinutes: number; toMinutes: number }[];
  reason: string | null;
}

export interface WorkAdded {
  tasks: NewTask[];
  links: NewLink[];
  /** Findings that a task which is there anyway answers. */
  traced: { taskId: string; findingId: string }[];
  /** Of each proposal, by its first finding, the task that does the work: an id or a new code. */
  doneBy: Map<string, string>;
  /** Tasks that are not wanted any more, with the reason. */
  skipped: { taskId: string; reason: string }[];
  access: Access;
}

/** Coats on a mended place: minutes, and the waits of the cans. Common practice, no source; the can goes before it. */
const TOUCH_UP = { min: 10, likely: 20, max: 40 };
const RECOAT = {
  minWaitMinutes: 15,
  forbiddenIntervals: [{ fromMinutes: 60, toMinutes: 2880 }],
  reason: 'recoat within the first hour or after two days; in between the fresh coat may lift',
};
const HANDLE = {
  minWaitMinutes: 1440,
  forbiddenIntervals: [],
  reason: 'a coat must bear handling before the machine is closed',
};
const PLAIN = { minWaitMinutes: 0, forbiddenIntervals: [], reason: null };

/** What is off the machine already: by tasks that opened it up for accepted work and whose closing is still to come. */
export function alreadyOff(job: FoundOnJob, { tree }: Knowledge): Set<string> {
  const off = new Set<string>();
  for (const task of job.tasks) {
    const pair = OPEN_CODE.exec(task.code);
    if (!pair || job.tasks.some((one) => one.code === `close-${pair[1]}` && one.finishedDate)) continue;
    const codes = job.findings.filter((one) => one.taskIds.includes(task.id)).map((one) => one.componentCode);
    for (const code of accessFor(tree, codes).codes) off.add(code);
  }
  // What is itself replaced or taken off comes off with that work.
  for (const found of job.findings)
    if (
      found.decision === 'accepted' &&
      found.componentCode &&
      found.verdict !== 'repair' &&
      hasUnfinishedTask(job, found.taskIds)
    )
      off.add(found.componentCode);
  return off;
}

const hasUnfinishedTask = (job: FoundOnJob, ids: readonly string[]): boolean =>
  job.tasks.some((task) => ids.includes(task.id) && !task.finishedDate);

/** Whether the route takes, or has taken, the whole machine apart, and it is not together again. */
export function isApart({ tasks }: Pick<FoundOnJob, 'tasks'>): boolean {
  if (!tasks.some((task) => task.kind === 'strip' && !isAccessTask(task))) return false;
  const assembly = tasks.filter((task) => task.kind === 'assemble' && !isAccessTask(task));
  return assembly.length === 0 || assembly.some((task) => !task.finishedDate);
}

/** What the work of proposals takes to be reached, shared by all of them. */
export function sharedAccess(job: FoundOnJob, proposals: readonly Proposal[], knowledge: Knowledge): Access {
  if (isApart(job)) return { codes: [], takeMinutes: 0, refitMinutes: 0 };
  const off = alreadyOff(job, knowledge);
  const worked = proposals.filter((one) => !one.doneByTaskId);
  for (const one of worked) if (one.componentCode && one.verdict !== 'repair') off.add(one.componentCode);
  return accessFor(
    knowledge.tree,
    worked.map((one) => one.componentCode),
    off,
  );
}

/** The tasks, links and traces that accepted proposals come to. Nothing is added twice, and nothing waits for itself. */
export function workOf(job: FoundOnJob, accepted: readonly Proposal[], knowledge: Knowledge): WorkAdded {
  const codes = new Set(job.takenCodes);
  const free = (wanted: string): string => {
    let code = wanted;
    for (let k = 2; codes.has(code); k++) code = `${wanted.slice(0, 36)}-${k}`;
    codes.add(code);
    return code;
  };
  const net = new Net(job);
  const added: WorkAdded = {
    tasks: [],
    links: net.links,
    traced: [],
    doneBy: new Map(),
    skipped: [],
    access: sharedAccess(job, accepted, knowledge),
  };
  const own: { proposal: Proposal; task: NewTask }[] = [];
  for (const proposal of accepted) {
    const [first = ''] = proposal.findingIds;
    if (proposal.doneByTaskId) {
      added.doneBy.set(first, proposal.doneByTaskId);
      for (const findingId of proposal.findingIds) added.traced.push({ taskId: proposal.doneByTaskId, findingId });
      continue;
    }
    const task: NewTask = {
      code: free(codeOf(proposal)),
      name: proposal.title,
      kind: proposal.verdict === 'repair' ? 'repair' : 'parts',
      minutes: proposal.minutes,
      placeKind: proposal.placeKind,
      pausable: true,
      needsPaintWeather: false,
      cautions: proposal.cautions,
      findingIds: proposal.findingIds,
    };
    own.push({ proposal, task });
    added.tasks.push(task);
    added.doneBy.set(first, task.code);
    for (const taskId of proposal.replacesTaskIds)
      added.skipped.push({ taskId, reason: `${proposal.title.toLowerCase()} takes its place` });
  }
  const { access } = added;
  const behind = own.filter(({ proposal }) => !isApart(job) && proposal.reach.length > 0);
  const number =
    1 + Math.max(0, ...[...codes].map((code) => Number(OPEN_CODE.exec(code)?.[1] ?? CLOSE_CODE.exec(code)?.[1] ?? 0)));
  const names = access.codes.map((code) => knowledge.tree.get(code)?.name.toLowerCase() ?? code);
  const causes = [...new Set(behind.flatMap(({ proposal }) => proposal.findingIds))];
  const accessTask = (kind: 'strip' | 'assemble', minutes: number): NewTask => ({
    code: free(`${kind === 'strip' ? 'open' : 'close'}-${number}`),
    name: `${kind === 'strip' ? 'Take off' : 'Refit'}: ${(kind === 'strip' ? names : [...names].reverse()).join(', ')}`.slice(
      0,
      160,
    ),
    kind,
    minutes: { min: Math.round(minutes * 0.7), likely: minutes, max: minutes * 2 },
    placeKind: 'bench',
    pausable: true,
    needsPaintWeather: false,
    cautions: ['storedEnergy'],
    findingIds: causes,
  });
  const open = access.codes.length > 0 ? accessTask('strip', access.takeMinutes) : null;
  const close = access.codes.length > 0 ? accessTask('assemble', access.refitMinutes) : null;
  if (open && close) added.tasks.push(open, close);
  const coats = touchUp(own, job, free, added);

  // Their order: what shows what is wrong, opening, the work, its coats, closing, and whatever tries the machine out.
  const opened = job.tasks.filter((task) => OPEN_CODE.test(task.code));
  const closings = job.tasks.filter((task) => CLOSE_CODE.test(task.code) && !task.startedDate);
  const first = net.before(['strip', 'diagnose', 'clean']);
  if (open) for (const task of [...first, ...opened]) net.link(open.code, task.id, PLAIN);
  for (const { proposal, task } of own) {
    if (open && behind.some((one) => one.task === task)) net.link(task.code, open.code, PLAIN);
    else
      for (const one of proposal.reach.length > 0 && opened.length > 0 && !isApart(job) ? opened : first)
        net.link(task.code, one.id, PLAIN);
    const welded = proposal.verdict === 'repair' && proposal.cautions.includes('hotWork');
    const followers = (
      welded
        ? net.next([['straighten'], ['derust'], ['prime'], ['colour'], ['assemble'], ['test']])
        : net.next([['assemble'], ['test']])
    ).map((one) => one.id);
    for (const follower of [...followers, ...(close ? [close.code] : []), ...closings.map((one) => one.id)])
      net.link(follower, task.code, PLAIN);
    if (coats && proposal.coats) net.link(coats.prime, task.code, PLAIN);
  }
  if (coats) {
    net.link(coats.colour, coats.prime, RECOAT);
    for (const follower of [
      ...net.next([['assemble'], ['test']]).map((one) => one.id),
      ...(close ? [close.code] : []),
      ...closings.map((one) => one.id),
    ])
      net.link(follower, coats.colour, HANDLE);
  }
  if (close) {
    if (open) net.link(close.code, open.code, PLAIN);
    for (const follower of [...closings, ...net.next([['assemble'], ['test']])])
      net.link(follower.id, close.code, PLAIN);
  }
  return added;
}

/** Primer and colour on what was mended, once for all of it; where such coats are still to come, those do. */
function touchUp(
  own: readonly { proposal: Proposal; task: NewTask }[],
  job: FoundOnJob,
  free: (code: string) => string,
  added: WorkAdded,
): { prime: string; colour: string } | null {
  const findingIds = own.filter(({ proposal }) => proposal.coats).flatMap(({ proposal }) => proposal.findingIds);
  if (findingIds.length === 0) return null;
  const there = (kind: string): JobTask | undefined =>
    job.tasks.find((task) => isTouchUp(task) && task.kind === kind && !task.startedDate);
  const prime = there('prime');
  const colour = there('colour');
  if (prime && colour) {
    for (const findingId of findingIds)
      for (const { id } of [prime, colour]) added.traced.push({ taskId: id, findingId });
    return { prime: prime.id, colour: colour.id };
  }
  const coat = (kind: 'prime' | 'colour', name: string): NewTask => ({
    code: free(`touch-up-${kind}`),
    name,
    kind,
    minutes: TOUCH_UP,
    placeKind: 'sprayArea',
    pausable: false,
    needsPaintWeather: true,
    cautions: ['solventVapour', 'oilyRags'],
    findingIds,
  });
  const tasks = [coat('prime', 'Prime what was mended'), coat('colour', 'Colour on what was mended')] as const;
  added.tasks.push(...tasks);
  return { prime: tasks[0].code, colour: tasks[1].code };
}

const codeOf = ({ verdict, componentCode, component, position }: Proposal): string =>
  [
    verdict,
    componentCode ??
      (component
        .toLowerCase()
        .replace(/[^a-z0-9]+/g, '-')
        .replace(/^-+|-+$/g, '') ||
        'part'),
    position,
  ]
    .filter(Boolean)
    .join('-')
    .slice(0, 36)
    .replace(/-+$/, '');

/** The order of a job's tasks as it grows: a link that would close a circle, or is there, is not made. */
class Net {
  readonly links: NewLink[] = [];
  private readonly followers = new Map<string, Set<string>>();

  constructor(private readonly job: FoundOnJob) {
    for (const { taskId, predecessorId } of job.links) this.follow(predecessorId, taskId);
  }

  /** The tasks of the first of these kinds that the job has. */
  before(kinds: readonly string[]): JobTask[] {
    return this.next(
      kinds.map((kind) => [kind]),
      () => true,
    );
  }

  /** The tasks not yet begun of the first of these groups of kinds that the job has. */
  next(groups: readonly (readonly string[])[], fits = (task: JobTask): boolean => !task.startedDate): JobTask[] {
    for (const kinds of groups) {
      const tasks = this.job.tasks.filter(
        (task) => kinds.includes(task.kind) && !isAccessTask(task) && !isTouchUp(task) && fits(task),
      );
      if (tasks.length > 0) return tasks;
    }
    return [];
  }

  link(task: string, predecessor: string, how: Omit<NewLink, 'task' | 'predecessor'>): void {
    if (task === predecessor || this.followers.get(predecessor)?.has(task) || this.leadsTo(task, predecessor)) return;
    this.follow(predecessor, task);
    this.links.push({ task, predecessor, ...how });
  }

  private follow(predecessor: string, task: string): void {
    const known = this.followers.get(predecessor);
    if (known) known.add(task);
    else this.followers.set(predecessor, new Set([task]));
  }

  private leadsTo(from: string, to: string): boolean {
    const seen = new Set<string>();
    const walk = (one: string): boolean => {
      if (one === to) return true;
      if (seen.has(one)) return false;
      seen.add(one);
      return [...(this.followers.get(one) ?? [])].some(walk);
    };
    return walk(from);
  }
}
