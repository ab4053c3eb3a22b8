/** What machines are made of, and the scale for rust: read, never changed. */
import { z } from 'zod';
import { componentGroups, rustScale } from '../../engine/diagnosis/index.js';
import { MachineKind } from '../../machines/machines.shapes.js';
import { query } from '../../platform/operation/operation.js';
import { choice, shape, wholeNumber } from '../../platform/shapes.js';
import { ComponentPosition } from '../diagnosis.shapes.js';
import { treeOf } from './index.js';

const Component = shape(
  'Component',
  {
    code: z.string(),
    name: z.string(),
    group: choice('ComponentGroup', componentGroups),
    aliases: z.array(z.string()).meta({ description: 'Other words by which it is known.' }),
    positions: z.array(ComponentPosition),
    behind: z.array(z.string()).meta({ description: 'What must come off to reach it, the outermost first.' }),
    behindMinutes: wholeNumber.meta({ scalar: 'Int', description: 'To take that off and put it back.' }),
    equipment: z.boolean().meta({ description: 'An extra: without it the machine is whole and sells for less.' }),
    usualWear: shape(
      'UsualWear',
      {
        unit: z.string(),
        newSize: z.number(),
        limit: z.number(),
        perSeason: z.number(),
        deviation: z.number(),
      },
      'How such a part usually wears. A judgement, no source.',
    ).nullable(),
  },
  'A part of a machine that findings can be of.',
);
export const ComponentList = shape(
  'ComponentList',
  { kind: MachineKind, components: z.array(Component) },
  'What a kind of machine is made of.',
);
const RustStep = shape(
  'RustStep',
  {
    grade: wholeNumber,
    title: z.string(),
    sentence: z.string(),
    welds: z.string(),
    pitting: z.string(),
    threads: z.string(),
    hoursFactor: z
      .number()
      .meta({ scalar: 'Float', description: 'Work on a part so rusted takes so many times as long.' }),
  },
  'A step of the scale for rust, with what it means for welds, pitting and threads.',
);
export const RustScale = shape(
  'RustScale',
  { steps: z.array(RustStep), source: z.string() },
  'How far rust may have gone, in six steps.',
);

export const componentQueries = [
  query({
    name: 'components',
    summary: 'Read what a kind of machine is made of: trade words, where it sits, what must come off to reach it',
    rest: { method: 'GET', path: '/components' },
    input: z.strictObject({ kind: MachineKind }),
    output: ComponentList,
    async run(_context, { kind }) {
      const tree = treeOf(kind);
      return {
        kind,
        components: tree.components.map((one) => {
          const behind = tree.reach([one.code]).map((code) => tree.get(code));
          return {
            ...one,
            aliases: [...one.aliases],
            positions: [...one.positions],
            behind: behind.flatMap((before) => (before ? [before.name] : [])),
            behindMinutes: behind.reduce(
              (sum, before) => sum + (before?.off ? before.off.take + before.off.refit : 0),
              0,
            ),
            usualWear: one.wear,
          };
        }),
      };
    },
  }),
  query({
    name: 'rustScale',
    summary: 'Read the scale for rust, with what each step means for welds, pitting and threads',
    rest: { method: 'GET', path: '/rust-scale' },
    input: z.strictObject({}),
    output: RustScale,
    run: async () => ({ steps: [...rustScale], source: 'Common practice, no source; the steps are our own.' }),
  }),
];
