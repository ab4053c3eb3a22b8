/** A machine's paper as a file, and its maintenance as a calendar. */
import { Controller, Get, Inject, Param, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { z } from 'zod';
import { callerOf } from '../../platform/access/authenticate.js';
import { APP_CONTEXT } from '../../platform/operation/app-context.js';
import { type AppContext, readInTransaction } from '../../platform/operation/execute.js';
import { validated } from '../../platform/operation/validate.js';
import { API_ROOT } from '../../platform/rest/controller.js';
import { id } from '../../platform/shapes.js';
import { buyerDocument, documentPdf, maintenanceCalendar } from './buyer-document.js';

const Asked = z.strictObject({ id, withHours: z.enum(['true', 'false']).optional() });

@Controller(API_ROOT)
export class DocumentController {
  constructor(@Inject(APP_CONTEXT) private readonly appContext: AppContext) {}

  @Get('jobs/:id/document.pdf')
  async pdf(@Req() request: Request, @Res() response: Response, @Param('id') jobId: string): Promise<void> {
    const asked = validated(Asked, { ...request.query, id: jobId });
    const pdf = await readInTransaction(this.appContext, callerOf(request), (context) =>
      documentPdf(context, asked.id, asked.withHours === 'true'),
    );
    response.setHeader('Vary', 'Authorization');
    response.setHeader('Content-Disposition', 'inline; filename="machine.pdf"');
    response.type('application/pdf').send(pdf);
  }

  @Get('jobs/:id/maintenance.ics')
  async calendar(@Req() request: Request, @Res() response: Response, @Param('id') jobId: string): Promise<void> {
    const asked = validated(Asked, { ...request.query, id: jobId });
    const calendar = await readInTransaction(this.appContext, callerOf(request), async (context) =>
      maintenanceCalendar(await buyerDocument(context, asked.id, false), context.now),
    );
    response.setHeader('Vary', 'Authorization');
    response.type('text/calendar; charset=utf-8').send(calendar);
  }
}
