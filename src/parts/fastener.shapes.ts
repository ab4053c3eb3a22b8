import { z } from 'zod';
import { choice, int, shape } from '../platform/shapes.js';

export const ThreadSystem = choice('ThreadSystem', ['inch', 'metric']);

/** What a designation says, and what follows from it. */
export const FastenerFacts = shape(
  'FastenerFacts',
  {
    designation: z.string().meta({ description: 'As the trade writes it in full.' }),
    system: ThreadSystem,
    size: z.string(),
    series: z.string(),
    majorDiameterMillimetres: z.number(),
    pitchMillimetres: z.number(),
    threadsPerInch: z.number().nullable(),
    toleranceClass: z.string().nullable(),
    leftHand: z.boolean(),
    starts: int(1, 20),
    lengthMillimetres: z.number().nullable(),
    head: z.string().nullable(),
    drive: z.string().nullable(),
    grade: z.string().nullable(),
    finish: z.string().nullable(),
    standard: z.string().nullable(),
    designedToFail: z.boolean(),
    assumed: z.array(z.string()).meta({ description: 'What the designation left unsaid and was taken for granted.' }),
  },
  'What a fastener\'s designation says, and what follows from it.',
);
