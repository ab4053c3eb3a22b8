/** The GraphQL schema as text, for programs that write code by it and for people who compare two versions. */
import { Controller, Get, Inject, Res } from '@nestjs/common';
import { GraphQLSchemaHost } from '@nestjs/graphql';
import type { Response } from 'express';
import { printSchema } from 'graphql';

@Controller()
export class SdlController {
  private text: string | undefined;

  constructor(@Inject(GraphQLSchemaHost) private readonly host: GraphQLSchemaHost) {}

  @Get('schema.graphql')
  sdl(@Res() response: Response): void {
    this.text ??= printSchema(this.host.schema);
    response.type('text/plain').send(this.text);
  }
}
