/** Questions of a person at the bench that need several areas at once. */
import { curingCoatsQuery } from './curing-coats.queries.js';
import { missingPartsQuery } from './missing-parts.queries.js';
import { searchQuery } from './search.queries.js';

export const questionQueries = [missingPartsQuery, curingCoatsQuery, searchQuery];
