/** The season as a drawing and as a calendar. */
import { Controller, Get, Inject, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { callerOf } from '../../platform/access/authenticate.js';
import { APP_CONTEXT } from '../../platform/operation/app-context.js';
import { type AppContext, readInTransaction } from '../../platform/operation/execute.js';
import { API_ROOT } from '../../platform/rest/controller.js';
import { calendarFeed } from './calendar-feed.queries.js';
import { readinessDrawing } from './readiness-drawing.queries.js';

@Controller(API_ROOT)
export class DeskSeasonController {
  constructor(@Inject(APP_CONTEXT) private readonly appContext: AppContext) {}

  /** The first-snow curve with each job's likely completion marked on it. */
  @Get('readiness.svg')
  async readinessChart(@Req() request: Request, @Res() response: Response): Promise<void> {
    const caller = callerOf(request);
    const drawing = await this.appContext.database.slowTurns.run(caller.accessKeyId, () =>
      readInTransaction(this.appContext, caller, readinessDrawing),
    );
    response.setHeader('Vary', 'Authorization');
    response.type('image/svg+xml').send(drawing);
  }

  /** The days that matter, for a calendar program to subscribe to. */
  @Get('calendar.ics')
  async calendar(@Req() request: Request, @Res() response: Response): Promise<void> {
    const caller = callerOf(request);
    const calendar = await this.appContext.database.slowTurns.run(caller.accessKeyId, () =>
      readInTransaction(this.appContext, caller, calendarFeed),
    );
    response.setHeader('Vary', 'Authorization');
    response.setHeader('Cache-Control', 'private');
    response.type('text/calendar; charset=utf-8').send(calendar);
  }
}
