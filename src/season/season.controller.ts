/** What the season answers with that is neither JSON in nor JSON out. */
import { Controller, Get, HttpException, Inject, Param, Post, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { z } from 'zod';
import { EngineError } from '../engine/error.js';
import { callerOf } from '../platform/access/authenticate.js';
import { Forbidden, Refused } from '../platform/errors.js';
import { APP_CONTEXT } from '../platform/operation/app-context.js';
import { type AppContext, executeOperation } from '../platform/operation/execute.js';
import { serialize } from '../platform/operation/serialize.js';
import { validated } from '../platform/operation/validate.js';
import { API_ROOT } from '../platform/rest/controller.js';
import { readQuery } from '../platform/rest/query-string.js';
import { id } from '../platform/shapes.js';
import { firstSnowQuery } from './first-snow.queries.js';
import { drawFirstSnow } from './first-snow-chart.js';
import { importStationFile } from './stations/import-file.js';
import { ImportSummary } from './stations/stations.shapes.js';

interface FirstSnowReply {
  seasonLabel: string;
  thresholdMillimetres: number;
  happenedDate: string | null;
  curve: { day: string; probability: number }[];
  quantiles: { probability: number; day: string | null }[];
  noneSoFar: Pick<FirstSnowReply, 'curve' | 'quantiles'> | null;
}

const ImportOptions = z.strictObject({
  stationId: id,
  station: z.string().max(40).optional(),
  units: z.enum(['ghcn', 'metric', 'us']).optional(),
});

@Controller(API_ROOT)
export class SeasonController {
  constructor(@Inject(APP_CONTEXT) private readonly appContext: AppContext) {}

  /** The first-snow curve as a drawing; the same arguments as the query. */
  @Get('first-snow.svg')
  async firstSnowDrawing(@Req() request: Request, @Res() response: Response): Promise<void> {
    const input = readQuery(firstSnowQuery.input, request.query as Record<string, unknown>);
    const { reply } = await executeOperation(this.appContext, firstSnowQuery, callerOf(request), input);
    const snow = reply as FirstSnowReply;
    const { curve, quantiles } = snow.noneSoFar ?? snow;
    const drawing = drawFirstSnow({
      seasonLabel: snow.seasonLabel,
      event: `${snow.thresholdMillimetres} mm`,
      points: curve.filter((point): point is { day: string; probability: number } => point.probability !== null),
      medianDate: quantiles.find((one) => one.probability === 0.5)?.day ?? null,
      jobs: [],
    });
    response.setHeader('Vary', 'Authorization');
    response.type('image/svg+xml').send(drawing);
  }

  /**
   * A station's file as it was downloaded: GHCN-Daily `.dly`, NCEI daily-summaries CSV, or a plain CSV that names its
   * units. The body is the file itself, read as it comes. `?station=` picks one of several in the file, `?units=`
   * says how an NCEI file without attributes was downloaded.
   */
  @Post('stations/:id/days/import')
  async importDays(@Req() request: Request, @Res() response: Response, @Param('id') stationId: string): Promise<void> {
    const caller = callerOf(request);
    if (caller.role !== 'owner')
      throw new Forbidden(`importStationFile is for owner keys; yours is a ${caller.role} key.`);
    const options = validated(ImportOptions, { ...request.query, stationId });
    // A JSON body has been parsed and is gone; a compressed one would have to be unpacked first.
    if (request.is('json') || request.headers['content-encoding']) throw new HttpException('unsupported', 415);
    request.setEncoding('utf8');
    try {
      // A file that is refused half-way must still get its answer: leaving the loop that reads it must not end the request.
      const chunks = request.iterator({ destroyOnReturn: false }) as AsyncIterable<string>;
      const summary = await importStationFile(this.appContext, caller, options.stationId, chunks, options);
      response.status(200).json(serialize(ImportSummary, summary, { currency: 'XXX', seesPrices: false }));
    } catch (error) {
      // Whoever hung up gets no answer; what was written stands, and the file can be sent again.
      if (request.destroyed && !request.complete) return;
      throw error instanceof EngineError ? new Refused(error.code, error.message) : error;
    } finally {
      request.resume();
    }
  }
}
