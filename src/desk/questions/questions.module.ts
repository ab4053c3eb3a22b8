import type { Area } from '../../platform/area.js';
import { curingCoatsQuery } from './curing-coats.queries.js';
import { missingPartsQuery } from './missing-parts.queries.js';
import { searchQuery } from './search.queries.js';

/** Questions that need several areas at once. */
export const questions: Area = { name: 'questions', operations: [missingPartsQuery, curingCoatsQuery, searchQuery] };
