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
    input: z.strictObject({ id }),
    output: StartingPoint,
    run: (context, { id: jobId }) => startingPoint(context, jobId),
  }),
];
