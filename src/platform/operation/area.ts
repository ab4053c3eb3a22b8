/** An area of the house, as the app is put together from it. */
import type { Type } from '@nestjs/common';
import type { Operation, Relation } from './operation.js';

export interface Area {
  name: string;
  /** What it is about, in a sentence. */
  description: string;
  operations: readonly Operation[];
  relations?: readonly Relation[];
  /** What REST has beside the made controller: a drawing, a stream. */
  controllers?: readonly Type[];
  /** The routes of those controllers, for the OpenAPI document. */
  files?: readonly FileRoute[];
}

/** A hand-written route that takes or gives something other than JSON. */
export interface FileRoute {
  name: string;
  summary: string;
  method: 'GET' | 'POST';
  /** Below `/v1`, with `:name` for what stands in the path. */
  path: string;
  query?: readonly { name: string; description: string; required?: true }[];
  /** The media types of what is sent and of what comes back. */
  takes?: readonly string[];
  gives: string;
}
