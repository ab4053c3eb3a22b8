import { z } from 'zod';
import { choice, id, int, shape } from '../../platform/shapes.js';

export const LabelKind = choice('LabelKind', ['stock', 'job', 'partNeed']);

export const Label = shape(
  'Label',
  {
    kind: LabelKind,
    urn: z
      .string()
      .meta({ description: 'urn:frostwright:, the kind of record, and its id; its end stands on the label.' }),
    path: z.string().meta({
      description: 'Where the thing is shown: behind the public address of the service it is what the QR code opens.',
    }),
    title: z.string().meta({ description: "The part's name, or the job's title." }),
    bin: z.string().nullable(),
    quantity: z.number().nullable(),
    jobNumbers: z.array(int(1, 2_000_000_000)).meta({ description: 'The jobs it is held for, or the job of the bag.' }),
    note: z.string().nullable().meta({
      description: 'The condition of what lies in a bin, the task that needs a part, or the machine of a job.',
    }),
  },
  'What is printed on one label of a bin or a bag.',
);
export const Labels = shape('Labels', { labels: z.array(Label) }, 'Labels in the order in which they are printed.');

/** More than these on one sheet of paper after another is a mistake. */
export const stockLabelIds = z.array(id).min(1).max(200);
export const Paper = choice('Paper', ['a4', 'letter']);
