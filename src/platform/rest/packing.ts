/** Replies are packed on their way where the caller can unpack them. */
import compression from 'compression';
import type { RequestHandler } from 'express';

/**
 * Not a record with a strong entity tag, which stands for its bytes and is given back in If-Match; those are short. Not a
 * stream of events, each of which is to arrive at once.
 */
export const packed = (): RequestHandler =>
  compression({
    threshold: 1024,
    filter: (request, response) => {
      const tag = response.getHeader('ETag');
      if (typeof tag === 'string' && !tag.startsWith('W/')) return false;
      if (String(response.getHeader('Content-Type')).startsWith('text/event-stream')) return false;
      return compression.filter(request, response);
    },
  });
