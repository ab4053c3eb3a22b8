import { z } from 'zod';
import { day, id, shape } from '../shapes.js';

export const CompletionEffect = shape(
  'CompletionEffect',
  {
    jobId: id,
    jobNumber: z.number().int().meta({ scalar: 'Int' }),
    jobTitle: z.string(),
    before: day.nullable().meta({ description: 'Expected completion before; null when there was none.' }),
    after: day.nullable().meta({ description: 'Expected completion now.' }),
    days: z.number().int().nullable().meta({ scalar: 'Int', description: 'How many days later; negative is earlier.' }),
    reasons: z.array(z.string()),
  },
  "How a step moved one job's expected completion, and why.",
);
export type CompletionEffect = z.output<typeof CompletionEffect>;
