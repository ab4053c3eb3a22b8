/** What needs several areas at once. */
import type { Area } from '../platform/operation/area.js';
import { briefingQueries } from './briefing/briefing.queries.js';
import { DocumentController } from './document/document.controller.js';
import { documentOperations } from './document/document.operations.js';
import { listingQuery } from './document/listing.queries.js';
import { handoverQueries } from './handover/handover.queries.js';
import { missingOperations } from './intake/missing.operations.js';
import { intakeOperations } from './intake/record-intake.operations.js';
import { LabelsController } from './labels/labels.controller.js';
import { labelQueries } from './labels/labels.queries.js';
import { pastJobOperations } from './past-jobs/past-jobs.operations.js';
import { outlookOperations, outlookRelations } from './proposals/outlook.queries.js';
import { proposalOperations, proposalRelations } from './proposals/proposals.operations.js';
import { questionQueries } from './questions/question.queries.js';
import { equipmentOperations } from './scope/equipment.operations.js';
import { scopeOptionQueries } from './scope/options.queries.js';
import { scopeOperations } from './scope/scope.operations.js';
import { capacityQuery } from './season/capacity.queries.js';
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
    ...missingOperations,
    ...pastJobOperations,
    ...handoverQueries,
    ...documentOperations,
    listingQuery,
    ...readinessQueries,
    capacityQuery,
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
  controllers: [LabelsController, DocumentController, DeskSeasonController],
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
      name: 'documentFile',
      summary: "A machine's paper for its buyer, with pictures, to print; without any price",
      method: 'GET',
      path: '/jobs/:id/document.pdf',
      query: [{ name: 'withHours', description: 'true: it tells how long was worked on the machine.' }],
      gives: 'application/pdf',
    },
    {
      name: 'maintenanceCalendar',
      summary: "The days on which the season makes a machine's maintenance due, as a calendar",
      method: 'GET',
      path: '/jobs/:id/maintenance.ics',
      gives: 'text/calendar',
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
