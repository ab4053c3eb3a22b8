import { z } from 'zod';
import { day, id, longText, priced, shape, text, wholeNumber } from '../../platform/shapes.js';
import { Job, JobScope, Task } from '../../work/work.shapes.js';
import { WorkEffects } from '../proposals/proposals.shapes.js';

export const AsFoundGiven = shape(
  'AsFoundGiven',
  {
    recordedBy: text(80),
    fuelDrained: z.boolean().meta({ description: 'The tank and the carburettor are empty; it must be true.' }),
    plugWireOff: z.boolean().meta({ description: 'The spark plug wire is off and tied back; it must be true.' }),
    note: longText.nullish().meta({ description: 'What was looked at, and what is known of it.' }),
  },
  'That a machine was left so that nobody starts it by mistake.',
);
export const AsFoundInput = z.strictObject({ id, ...AsFoundGiven.shape });

export const ScopeGiven = z.strictObject({
  id,
  scope: JobScope,
  reason: text(300).nullish(),
  findingIds: z
    .array(id)
    .max(20)
    .nullish()
    .meta({ description: 'To mend one fault: the findings that are it. They are accepted with the scope.' }),
  keepTaskIds: z
    .array(id)
    .max(200)
    .nullish()
    .meta({ description: 'Tasks that stay although the scope leaves them out.' }),
  skipTaskIds: z
    .array(id)
    .max(200)
    .nullish()
    .meta({ description: 'Tasks that are not wanted although the scope has them.' }),
  asFound: AsFoundGiven.nullish().meta({ description: 'To sell as found: what must be so before it may be offered.' }),
});

export const ScopeChosen = shape(
  'ScopeChosen',
  {
    job: Job,
    skippedTasks: z.array(Task).meta({ description: 'Tasks left out now, with the reason.' }),
    restoredTasks: z.array(Task).meta({ description: 'Tasks left out before that are wanted again.' }),
    addedTasks: z.array(Task),
    effects: WorkEffects.nullable(),
  },
  'What choosing how far a job goes has led to.',
);

const ScopeOption = shape(
  'ScopeOption',
  {
    scope: JobScope,
    chosen: z.boolean(),
    expectedDate: day.nullable(),
    handsOnMinutes: wholeNumber,
    cost: priced.meta({ priced: true, description: 'The likely full cost in the end.' }),
    estimateToComplete: priced.meta({
      priced: true,
      description: 'Of it, what is still to come: own hours, parts, paint and space.',
    }),
    brings: priced.meta({
      priced: true,
      description:
        'What the machine should bring; of one taken apart, its parts, as far as somebody needs them, and scrap.',
    }),
    margin: priced.meta({
      priced: true,
      description: 'What it brings less what is still to come; what was spent is spent.',
    }),
    reasons: z.array(z.string()),
  },
  'How far a job may go, and what comes of it.',
);
export const ScopeOptions = shape(
  'ScopeOptions',
  {
    jobId: id,
    best: JobScope.nullable().meta({
      description: 'That leaves most from here on; null where nothing speaks for a price.',
    }),
    options: z.array(ScopeOption),
    reasons: z.array(z.string()),
  },
  'How far a job may go, compared from here on.',
);
