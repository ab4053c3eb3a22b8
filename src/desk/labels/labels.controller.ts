/** What the parts answer with that is not JSON: labels to print. */
import { Controller, Get, Inject, Param, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import type { z } from 'zod';
import { callerOf } from '../../platform/access/authenticate.js';
import { APP_CONTEXT } from '../../platform/operation/app-context.js';
import { type AppContext, executeOperation } from '../../platform/operation/execute.js';
import type { Operation } from '../../platform/operation/operation.js';
import { validated } from '../../platform/operation/validate.js';
import { API_ROOT } from '../../platform/rest/controller.js';
import { readQuery } from '../../platform/rest/query-string.js';
import { drawLabels } from './label-sheet.js';
import { jobLabelsQuery, stockLabelsQuery } from './labels.queries.js';
import { Labels, Paper } from './labels.shapes.js';

@Controller(API_ROOT)
export class LabelsController {
  constructor(@Inject(APP_CONTEXT) private readonly appContext: AppContext) {}

  /** A sheet of labels for bins: `?ids=` as in the query, `?paper=a4` or `letter`. */
  @Get('stock/labels.pdf')
  stockLabels(@Req() request: Request, @Res() response: Response): Promise<void> {
    return this.sheet(request, response, stockLabelsQuery, {});
  }

  /** A sheet of labels for a job's bags. */
  @Get('jobs/:id/labels.pdf')
  jobLabels(@Req() request: Request, @Res() response: Response, @Param('id') jobId: string): Promise<void> {
    return this.sheet(request, response, jobLabelsQuery, { id: jobId });
  }

  private async sheet(request: Request, response: Response, operation: Operation, fromPath: object): Promise<void> {
    const { paper: wanted, ...query } = request.query;
    const paper = validated(Paper.default('a4'), wanted, '/paper');
    const { reply } = await executeOperation(this.appContext, operation, callerOf(request), {
      ...readQuery(operation.input, query),
      ...fromPath,
    });
    const { clock, publicUrl = null } = this.appContext;
    const sheet = await drawLabels((reply as z.output<typeof Labels>).labels, paper, clock(), publicUrl);
    response.setHeader('Vary', 'Authorization');
    response.setHeader('Content-Disposition', 'inline; filename="labels.pdf"');
    response.type('application/pdf').send(sheet);
  }
}
