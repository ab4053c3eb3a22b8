import { z } from 'zod';
import { day, editableFields, id, instant, shape } from '../../platform/shapes.js';

export const DocumentLink = shape(
  'DocumentLink',
  {
    ...editableFields,
    jobId: id,
    withHours: z.boolean().meta({ description: 'It tells how long was worked on the machine.' }),
    expiresDate: day.nullable().meta({ description: 'The last day on which it opens; null when it has none.' }),
    withdrawnAt: instant.nullable(),
  },
  "A link by which a buyer reads a machine's paper, with its pictures and without any price.",
);
export const DocumentLinkMade = shape(
  'DocumentLinkMade',
  {
    link: DocumentLink,
    path: z.string().meta({
      description:
        'The address below the one that the service is reached by. It is told this once: only its digest is kept.',
    }),
    url: z.string().nullable().meta({ description: 'The whole address, where PUBLIC_URL is set.' }),
  },
  'A link that was just made.',
);
export const DocumentLinkGiven = z.strictObject({
  id: id.meta({ description: 'The job.' }),
  withHours: z.boolean().default(false),
  expiresDate: day.nullish().meta({ description: 'The last day on which it opens; none unless said.' }),
});

export const Listing = shape(
  'Listing',
  {
    title: z.string(),
    text: z.string().meta({ description: 'To copy into an advertisement; without a price, a name or a number.' }),
    asFound: z.boolean().meta({ description: 'It is not sold as safe to run, and the text says so.' }),
    pictureIds: z.array(id).meta({ description: 'Pictures to show with it, those after the work first; no receipts.' }),
  },
  'What an advertisement of the machine says.',
);
