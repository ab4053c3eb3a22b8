/** Pictures as files: sent as they are, and fetched. */
import { Controller, Get, Inject, Param, Post, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { z } from 'zod';
import { callerOf } from '../platform/access/authenticate.js';
import { TooLarge, Unreadable, UnsupportedMedia } from '../platform/errors.js';
import { APP_CONTEXT } from '../platform/operation/app-context.js';
import { type AppContext, executeOperation, readInTransaction } from '../platform/operation/execute.js';
import { validated } from '../platform/operation/validate.js';
import { API_ROOT } from '../platform/rest/controller.js';
import { id } from '../platform/shapes.js';
import { type PictureSize, readPicture } from './picture-files.js';
import { pictureOperations } from './pictures.operations.js';
import { PictureSent } from './pictures.shapes.js';

export const MAX_PICTURE_BYTES = 12 * 1024 * 1024;
const types = ['image/jpeg', 'image/png', 'image/webp', 'image/heic', 'image/heif', 'application/octet-stream'];

@Controller(API_ROOT)
export class PicturesController {
  constructor(@Inject(APP_CONTEXT) private readonly appContext: AppContext) {}

  /** The body is the file; what it hangs on stands in the address. */
  @Post('pictures/files')
  async send(@Req() request: Request, @Res() response: Response): Promise<void> {
    const caller = callerOf(request);
    const said = validated(PictureSent, request.query);
    if (!request.is(types) || request.headers['content-encoding'])
      throw new UnsupportedMedia('Send the picture itself, with Content-Type image/jpeg, image/png or image/webp.');
    const key = request.headers['idempotency-key'];
    if (typeof key !== 'string')
      throw new Unreadable('idempotency-key-needed', 'Send an Idempotency-Key, so that a repeat makes nothing twice.');
    const content = (await bodyOf(request)).toString('base64');
    const createPicture = pictureOperations.find(({ name }) => name === 'createPicture');
    if (!createPicture) throw new Error('createPicture is not declared');
    const { reply, replayed } = await executeOperation(
      this.appContext,
      createPicture,
      caller,
      { ...said, content },
      key,
    );
    if (replayed) response.setHeader('Idempotency-Replayed', 'true');
    response.setHeader('Location', `/${API_ROOT}/pictures/${(reply as { id: string }).id}`);
    response.status(201).json(reply);
  }

  @Get('pictures/:id/file')
  full(@Req() request: Request, @Res() response: Response, @Param('id') pictureId: string): Promise<void> {
    return this.give(request, response, pictureId, 'full');
  }

  @Get('pictures/:id/thumbnail')
  thumbnail(@Req() request: Request, @Res() response: Response, @Param('id') pictureId: string): Promise<void> {
    return this.give(request, response, pictureId, 'thumbnail');
  }

  private async give(request: Request, response: Response, pictureId: string, size: PictureSize): Promise<void> {
    const asked = validated(z.strictObject({ id }), { id: pictureId });
    const file = await readInTransaction(this.appContext, callerOf(request), (context) =>
      readPicture(context, asked.id, size),
    );
    // A picture never changes under its id.
    response.setHeader('Cache-Control', 'private, max-age=31536000, immutable');
    response.setHeader('Vary', 'Authorization');
    response.type('image/jpeg').send(file);
  }
}

/** @throws TooLarge, having read no more than what is taken */
async function bodyOf(request: Request): Promise<Buffer> {
  const tooLarge = () =>
    new TooLarge('The picture is more than 12 MiB: choose a smaller size in the camera’s settings.');
  const parts: Buffer[] = [];
  let size = 0;
  try {
    for await (const part of request.iterator({ destroyOnReturn: false }) as AsyncIterable<Buffer>) {
      size += part.length;
      if (size > MAX_PICTURE_BYTES) throw tooLarge();
      parts.push(part);
    }
  } finally {
    request.resume();
  }
  return Buffer.concat(parts);
}
