/** The GraphQL schema as text, for programs that write code by it and for people who compare two versions. */
import { Controller, Get, Inject, Req, Res } from '@nestjs/common';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import type { Request, Response } from 'express';
import { printSchema } from 'graphql';
import { ReadyDocument } from '../rest/ready-document.js';

@Controller()
export class SdlController {
  private document: ReadyDocument | undefined;

  constructor(@Inject(GraphQLSchemaHost) private readonly host: GraphQLSchemaHost) {}

  @Get('schema.graphql')
  sdl(@Req() request: Request, @Res() response: Response): void {
    this.document ??= new ReadyDocument('text/plain; charset=utf-8', printSchema(this.host.schema));
    this.document.send(request, response);
  }
}
