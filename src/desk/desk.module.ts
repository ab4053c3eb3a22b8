/** What needs several areas at once. */
import type { Area } from '../platform/operation/area.js';
import { briefingQueries } from './briefing/briefing.queries.js';
import { handoverQueries } from './handover/handover.queries.js';
import { intakeOperations } from './intake/record-intake.operations.js';
import { LabelsController } from './labels/labels.controller.js';
import { labelQueries } from './labels/labels.queries.js';
import { outlookOperations, outlookRelations } from './proposals/outlook.queries.js';
import { proposalOperations, proposalRelations } from './proposals/proposals.operations.js';
import { questionQueries } from './questions/question.queries.js';
import { equipmentOperations } from './scope/equipment.operations.js';
import { scopeOptionQueries } from './scope/options.queries.js';
import { scopeOperations } from './scope/scope.operations.js';
import { readinessQueries } from './season/readiness.queries.js';
import { DeskSeasonController } from './season/season.controller.js';
import { shortageOperations } from './shortage/shortage.operations.js';

const paper = { name: 'paper', description: 'a4, unless it is to be letter.' };

export const desk: Area = {
  name: 'desk',
  description:
    'What needs several areas at once: intake in one call, what to do about a shortage, the briefing, labels, the calendar.',
  operations: [
    ...labelQueries,
    ...intakeOperations,
    ...handoverQueries,
    ...readinessQueries,
    ...briefingQueries,
    ...shortageOperations,
    ...questionQueries,
    ...proposalOperations,
    ...scopeOperations,
    ...scopeOptionQueries,
    ...equipmentOperations,
    ...outlookOperations,
  ],
  relations: [...proposalRelations, ...outlookRelations],
  controllers: [LabelsController, DeskSeasonController],
  files: [
    {
      name: 'stockLabelSheet',
      summary: 'Labels for bins, to print and cut, each with its QR code',
      method: 'GET',
      path: '/stock/labels.pdf',
      query: [{ name: 'ids', description: 'The bins, with commas between.', required: true }, paper],
      gives: 'application/pdf',
    },
    {
      name: 'jobLabelSheet',
      summary: "Labels for a job's bags, to print and cut, each with its QR code",
      method: 'GET',
      path: '/jobs/:id/labels.pdf',
      query: [paper],
      gives: 'application/pdf',
    },
    {
      name: 'readinessDrawing',
      summary: "The first-snow curve with each job's likely completion marked, drawn",
      method: 'GET',
      path: '/readiness.svg',
      gives: 'image/svg+xml',
    },
    {
      name: 'calendarFeed',
      summary:
        'When each job is done, what is promised, what comes by post and when to be ready, as a calendar to subscribe to',
      method: 'GET',
      path: '/calendar.ics',
      gives: 'text/calendar',
    },
  ],
};
