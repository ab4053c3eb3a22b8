/** A document that is the same for everybody for as long as the process lives: its bytes are made once. */
import { createHash } from 'node:crypto';
import { gzipSync } from 'node:zlib';
import type { Request, Response } from 'express';

export class ReadyDocument {
  private readonly plain: Buffer;
  private readonly packed: Buffer;
  private readonly tag: string;

  constructor(
    private readonly contentType: string,
    text: string,
  ) {
    this.plain = Buffer.from(text);
    this.packed = gzipSync(this.plain);
    this.tag = `"${createHash('sha256').update(this.plain).digest('hex').slice(0, 16)}"`;
  }

  /** With an entity tag, so that whoever has it already is told so with 304. */
  send(request: Request, response: Response): void {
    const packs = Boolean(request.acceptsEncodings('gzip'));
    response.setHeader('Content-Type', this.contentType);
    // The tag names the bytes as they are sent.
    response.setHeader('ETag', packs ? `${this.tag.slice(0, -1)}.gz"` : this.tag);
    response.setHeader('Cache-Control', 'public, max-age=60');
    response.setHeader('Vary', 'Accept-Encoding');
    if (request.fresh) {
      response.status(304).end();
      return;
    }
    if (packs) response.setHeader('Content-Encoding', 'gzip');
    response.end(packs ? this.packed : this.plain);
  }
}
