import { type Component, ComponentTree } from './component.js';
import type { Found, FoundOnJob, JobTask, Knowledge } from './proposal.js';

const plain: Omit<Component, 'code' | 'name'> = {
  group: 'drive',
  aliases: [],
  positions: [],
  behind: [],
  off: null,
  work: {
    repair: { min: 20, likely: 40, max: 80 },
    replace: { min: 10, likely: 20, max: 40 },
    remove: { min: 5, likely: 10, max: 20 },
  },
  routeTask: null,
  seenToIn: [],
  welded: false,
  cautions: [],
  wear: null,
  equipment: false,
};
export const component = (code: string, more: Partial<Component> = {}): Component => ({
  ...plain,
  code,
  name: code.charAt(0).toUpperCase() + code.slice(1),
  ...more,
});

/** A cover before a belt, the belt before a pulley and a bearing; a shaft behind the bearing; a shell to weld; paddles in the route. */
export const smallTree = new ComponentTree([
  component('cover', { off: { take: 5, refit: 6 } }),
  component('belt', { behind: ['cover'], off: { take: 7, refit: 9 } }),
  component('pulley', { behind: ['cover', 'belt'] }),
  component('bearing', { behind: ['belt'], off: { take: 10, refit: 12 }, positions: ['left', 'right'] }),
  component('shaft', { behind: ['bearing'] }),
  component('shell', { welded: true, aliases: ['housing'] }),
  component('paddles', { routeTask: 'paddles' }),
]);

export const knowledge = (more: Partial<Knowledge> = {}): Knowledge => ({
  tree: smallTree,
  past: [],
  route: [],
  ...more,
});

export const task = (code: string, kind: string, more: Partial<JobTask> = {}): JobTask => ({
  id: `id-${code}`,
  code,
  name: code,
  kind,
  startedDate: null,
  finishedDate: null,
  ...more,
});
let count = 0;
export const found = (componentCode: string | null, verdict: Found['verdict'], more: Partial<Found> = {}): Found => ({
  id: `finding-${(count += 1)}`,
  componentCode,
  component: componentCode ?? 'something',
  position: null,
  verdict,
  rustGrade: null,
  foundDate: '2026-09-10',
  decision: null,
  taskIds: [],
  ...more,
});
export const jobOf = (findings: Found[], tasks: JobTask[] = [], links: FoundOnJob['links'] = []): FoundOnJob => ({
  tasks,
  links,
  takenCodes: tasks.map(({ code }) => code),
  findings,
  paints: true,
});
