import type { Area } from '../platform/area.js';
import { intakeOperations } from './intake.operations.js';
import { intakeRelations } from './intake.queries.js';

export const intake: Area = { name: 'intake', operations: intakeOperations, relations: intakeRelations };
