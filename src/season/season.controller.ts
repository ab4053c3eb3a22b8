/** What the season answers with that is neither JSON in nor JSON out. */
import { Controller, Get, Inject, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { callerOf } from '../platform/access/authenticate.js';
import { perform, type Performing } from '../platform/operation/perform.js';
import { API_ROOT } from '../platform/rest/controller.js';
import { readQuery } from '../platform/rest/query-string.js';
import { PERFORMING } from '../platform/tokens.js';
import { drawFirstSnow } from './first-snow-chart.js';
import { firstSnowQuery } from './first-snow.queries.js';

interface FirstSnowReply {
  seasonLabel: string;
  thresholdMillimetres: number;
  happenedDay: string | null;
  curve: { day: string; chance: number }[];
  quantiles: { probability: number; day: string | null }[];
  noneSoFar: Pick<FirstSnowReply, 'curve' | 'quantiles'> | null;
}

@Controller(API_ROOT)
export class SeasonController {
  constructor(@Inject(PERFORMING) private readonly performing: Performing) {}

  /** The first-snow curve as a drawing; the same arguments as the query. */
  @Get('first-snow.svg')
  async firstSnowDrawing(@Req() request: Request, @Res() response: Response): Promise<void> {
    const input = readQuery(firstSnowQuery.input, request.query as Record<string, unknown>);
    const { reply } = await perform(this.performing, firstSnowQuery, callerOf(request), input);
    const snow = reply as FirstSnowReply;
    const { curve, quantiles } = snow.noneSoFar ?? snow;
    const drawing = drawFirstSnow({
      seasonLabel: snow.seasonLabel,
      event: `${snow.thresholdMillimetres} mm`,
      points: curve.filter((point): point is { day: string; chance: number } => point.chance !== null),
      medianDay: quantiles.find((one) => one.probability === 0.5)?.day ?? null,
      jobs: [],
    });
    response.setHeader('Vary', 'Authorization');
    response.type('image/svg+xml').send(drawing);
  }
}
