import { z } from 'zod';
import { crudOperations } from '../platform/operation/crud-operations.js';
import { command, workers } from '../platform/operation/operation.js';
import { id, instant } from '../platform/shapes.js';
import { addLabourEntry, changedLabour, endLabour, startLabour, undoLabourStart, withMinutes } from './labour.js';
import { taskToWorkOn } from './tasks.js';
import {
  LabourEnd,
  LabourEntry,
  LabourEntryChange,
  LabourEntryCreate,
  LabourStart,
  LabourUndo,
} from './work.shapes.js';

export const labourOperations = [
  ...crudOperations({
    name: 'labourEntry',
    plural: 'labourEntries',
    what: 'labour entry',
    table: 'labourEntry',
    shape: LabourEntry,
    create: LabourEntryCreate,
    change: LabourEntryChange,
    writers: workers,
    filters: {
      taskId: id.nullish(),
      jobId: id.nullish(),
      personId: id.nullish(),
      running: z.boolean().nullish().meta({ description: 'True for those that have no end yet.' }),
      startedFrom: instant.nullish(),
      startedBefore: instant.nullish(),
    },
    where: (filters) => ({
      ...(filters.taskId ? { taskId: filters.taskId } : {}),
      ...(filters.jobId ? { task: { jobId: filters.jobId } } : {}),
      ...(filters.personId ? { personId: filters.personId } : {}),
      ...(filters.running === true ? { endedAt: null } : filters.running === false ? { endedAt: { not: null } } : {}),
      startedAt: {
        ...(filters.startedFrom ? { gte: new Date(filters.startedFrom) } : {}),
        ...(filters.startedBefore ? { lt: new Date(filters.startedBefore) } : {}),
      },
    }),
    sorts: ['startedAt', 'createdAt'],
    onCreate: addLabourEntry,
    onChange: changedLabour,
    archiveNeedsReason: true,
    onArchive: async (context, before) => void (await taskToWorkOn(context, before.taskId)),
    complete: (context, rows) => rows.map((row) => withMinutes(context, row)),
  }),
  command({
    name: 'startLabour',
    summary: 'Clock a person on to a task; the first work on a task starts it',
    roles: workers,
    rest: { method: 'POST', path: '/tasks/:id/labour', status: 201 },
    input: LabourStart,
    output: LabourEntry,
    run: async (context, { id: taskId, ...given }) =>
      withMinutes(context, await startLabour(context, { ...given, taskId })),
  }),
  command({
    name: 'stopLabour',
    summary: 'Clock off',
    roles: workers,
    rest: { method: 'POST', path: '/labour-entries/:id/stop', status: 200 },
    creates: false,
    input: LabourEnd,
    output: LabourEntry,
    run: async (context, { id: entryId, at, reason }) =>
      withMinutes(context, await endLabour(context, entryId, at, reason)),
  }),
  command({
    name: 'undoLabourStart',
    summary:
      'Take back a timer that was started by mistake, and with it the start of its task where nothing else was done on it',
    roles: workers,
    rest: { method: 'POST', path: '/labour-entries/:id/undo-start', status: 200 },
    creates: false,
    input: LabourUndo,
    output: LabourEntry,
    run: async (context, { id: entryId }) => withMinutes(context, await undoLabourStart(context, entryId)),
  }),
];
