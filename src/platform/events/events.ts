/** The area of what has changed: a list to ask for, and a stream to listen to. */
import { Controller, Get, Inject, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { callerOf } from '../access/authenticate.js';
import { APP_CONTEXT } from '../operation/app-context.js';
import type { Area } from '../operation/area.js';
import type { AppContext } from '../operation/execute.js';
import { API_ROOT } from '../rest/controller.js';
import { streamChanges } from './change-stream.js';
import { changesQuery } from './changes.js';

@Controller(API_ROOT)
class EventsController {
  constructor(@Inject(APP_CONTEXT) private readonly appContext: AppContext) {}

  @Get('events')
  async events(@Req() request: Request, @Res() response: Response): Promise<void> {
    await streamChanges(this.appContext, callerOf(request), request, response);
  }
}

export const events: Area = {
  name: 'events',
  description: 'What has changed, to be asked for or listened to.',
  operations: [changesQuery],
  controllers: [EventsController],
  files: [
    {
      name: 'events',
      summary: 'A stream of what changes, as server-sent events: ids and kinds, to be resumed with Last-Event-ID',
      method: 'GET',
      path: '/events',
      query: [{ name: 'after', description: 'Begins after this sequence; from now on where it is left out.' }],
      gives: 'text/event-stream',
    },
  ],
};
