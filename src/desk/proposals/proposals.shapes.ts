import { z } from 'zod';
import { ComponentPosition, Finding, Verdict } from '../../diagnosis/diagnosis.shapes.js';
import { CompletionEffect } from '../../platform/completion/completion-effects.shapes.js';
import { choice, day, id, int, longText, priced, quantity, shape, wholeNumber } from '../../platform/shapes.js';
import { JobScope, Task } from '../../work/work.shapes.js';

const ProposedPart = shape(
  'ProposedPart',
  { partId: id, partName: z.string(), quantity: z.number() },
  'The part that a replacement probably takes.',
);

export const Proposal = shape(
  'Proposal',
  {
    findingId: id.meta({ scalar: 'ID', description: 'The first finding it answers: a decision names it by this.' }),
    findingIds: z.array(id),
    component: z.string(),
    componentCode: z.string().nullable(),
    position: ComponentPosition.nullable(),
    verdict: Verdict,
    title: z.string(),
    minMinutes: wholeNumber,
    handsOnMinutes: wholeNumber.meta({
      scalar: 'Int',
      description: 'Beyond what is planned already, without what must come off to reach it.',
    }),
    maxMinutes: wholeNumber,
    reach: z.array(z.string()).meta({ description: 'What must come off to reach it, the outermost first.' }),
    accessMinutes: wholeNumber.meta({
      scalar: 'Int',
      description: 'To take that off and put it back, for this alone; 0 where the machine is apart anyway.',
    }),
    doneByTaskId: id.nullable().meta({ scalar: 'ID', description: 'The task of the job that does it anyway.' }),
    replacesTaskIds: z.array(id).meta({ description: 'Tasks of weaker verdicts that it takes the place of.' }),
    coats: z.boolean().meta({ description: 'Bare metal is left that wants primer and colour, which come with it.' }),
    part: ProposedPart.nullable(),
    probability: z.number().meta({
      scalar: 'Float',
      description: 'How often such a proposal is accepted here: it counts as likely by so much.',
    }),
    reasons: z.array(z.string()),
  },
  'Work, part and coats that findings on one component suggest, until they are accepted, changed or refused.',
);

export const JobProposals = shape(
  'JobProposals',
  {
    jobId: id,
    jobNumber: wholeNumber,
    scope: JobScope,
    proposals: z.array(Proposal).meta({ description: 'Those not yet decided on.' }),
    handsOnMinutes: wholeNumber.meta({ scalar: 'Int', description: 'Of all of them, with what must come off, once.' }),
    sharedMinutes: wholeNumber.meta({
      scalar: 'Int',
      description: 'What it saves to do them together: what several need to come off counts once.',
    }),
    decided: z.array(Finding).meta({ description: 'Findings whose proposals were accepted or refused.' }),
  },
  "What a job's findings suggest.",
);

export const ProposalDecisionGiven = choice('ProposalDecisionGiven', ['accept', 'refuse']);
const decisionFields = {
  findingId: id.meta({ scalar: 'ID', description: 'A finding that the proposal answers.' }),
  decision: ProposalDecisionGiven,
  reason: longText.nullish(),
  handsOnMinutes: int(1, 20_000).nullish().meta({ scalar: 'Int', description: 'Where the work takes other minutes.' }),
  partId: id.nullish().meta({ scalar: 'ID', description: 'The part, where it is another than proposed, or none was.' }),
  quantity: quantity.nullish(),
  withoutPart: z.boolean().nullish().meta({ description: 'It takes no part, or the part is noted later.' }),
  withoutCoats: z.boolean().nullish().meta({ description: 'What was laid bare gets no coat.' }),
};
export const DecisionGiven = shape('DecisionGiven', decisionFields, 'What is decided about one proposal.');
export const DecisionsGiven = z.strictObject({ id, decisions: z.array(DecisionGiven).min(1).max(100) });
export const ReopenGiven = z.strictObject({ id, findingIds: z.array(id).min(1).max(100) });

const MarginRange = shape(
  'MarginRange',
  { low: priced, likely: priced, high: priced },
  'What the advised ask leaves beyond the full cost in the end: one in ten below low, one in ten above high.',
);

export const WorkEffects = shape(
  'WorkEffects',
  {
    completion: z.array(CompletionEffect).meta({ description: 'The jobs whose expected day moves.' }),
    expectedDateBefore: day.nullable(),
    expectedDateAfter: day.nullable(),
    handsOnMinutesBefore: wholeNumber.meta({
      scalar: 'Int',
      description: 'Still to be done on the job, what is likely not counted.',
    }),
    handsOnMinutesAfter: wholeNumber,
    costBefore: priced.meta({ priced: true, description: 'The likely full cost in the end, before.' }),
    costAfter: priced.meta({ priced: true, description: 'The likely full cost in the end, after.' }),
    priceBefore: priced.meta({
      priced: true,
      description: 'What it should bring, before; null when it is not for sale.',
    }),
    priceAfter: priced.meta({ priced: true, description: 'What it should bring, after.' }),
    marginBefore: MarginRange.nullable(),
    marginAfter: MarginRange.nullable(),
    reasons: z.array(z.string()),
  },
  'What a change of the work does to date, cost and margin.',
);

export const ProposalsDecided = shape(
  'ProposalsDecided',
  {
    jobId: id,
    tasks: z.array(Task).meta({ description: 'The tasks that came of it.' }),
    skippedTasks: z.array(Task),
    partsNeeded: z.array(z.string()).meta({ description: 'The parts noted as needed, in words.' }),
    remaining: JobProposals,
    effects: WorkEffects.nullable(),
  },
  'What deciding on proposals has led to.',
);
