import { z } from 'zod';
import { query } from '../../platform/operation/operation.js';
import { id } from '../../platform/shapes.js';
import { startingPoint } from './starting-point.js';
import { StartingPoint } from './starting-point.shapes.js';

export const handoverQueries = [
  query({
    name: 'startingPoint',
    summary: "Read a job's written starting point, from which only maintenance remains",
    rest: { method: 'GET', path: '/jobs/:id/starting-point' },
    input: z.strictObject({
      id,
      withHours: z.boolean().nullish().meta({ description: 'The text tells how long was worked on it.' }),
    }),
    output: StartingPoint,
    run: (context, { id: jobId, withHours }) => startingPoint(context, jobId, { withHours: withHours ?? false }),
  }),
];
