/** A form as a browser sends it, with its files; never more than it may hold. */
import type { Request } from 'express';
import { Unreadable } from '../../platform/errors.js';
import type { SentFile } from './form.js';

const TEXT_LIMIT = 256 * 1024;
/** Twelve pictures of a phone's camera. */
const FILES_LIMIT = 96 * 1024 * 1024;

async function bodyOf(request: Request, limit: number): Promise<Buffer> {
  const tooLarge = () =>
    new Unreadable('too-large', `That is more than can be sent at once (${Math.floor(limit / 1024 / 1024) || 1} MB).`);
  if (Number(request.headers['content-length'] ?? 0) > limit) throw tooLarge();
  const parts: Buffer[] = [];
  let size = 0;
  for await (const part of request as AsyncIterable<Buffer>) {
    size += part.length;
    if (size > limit) throw tooLarge();
    parts.push(part);
  }
  return Buffer.concat(parts);
}

export interface SentForm {
  fields: Map<string, string[]>;
  files: SentFile[];
}

/** @throws Unreadable for another kind of body, or one that is too large */
export async function readForm(request: Request): Promise<SentForm> {
  const type = request.headers['content-type'] ?? '';
  const fields = new Map<string, string[]>();
  const files: SentFile[] = [];
  const put = (name: string, value: string) => fields.set(name, [...(fields.get(name) ?? []), value]);
  if (type.startsWith('application/x-www-form-urlencoded')) {
    const text = (await bodyOf(request, TEXT_LIMIT)).toString('utf8');
    for (const [name, value] of new URLSearchParams(text)) put(name, value);
  } else if (type.startsWith('multipart/form-data')) {
    const body = await bodyOf(request, FILES_LIMIT);
    let form: FormData;
    try {
      form = await new Response(new Uint8Array(body), { headers: { 'Content-Type': type } }).formData();
    } catch {
      throw new Unreadable('bad-body', 'The form did not arrive whole; send it again.');
    }
    for (const [name, value] of form.entries()) {
      if (typeof value === 'string') put(name, value);
      else if (value.size > 0) files.push({ name, content: Buffer.from(await value.arrayBuffer()) });
    }
  } else throw new Unreadable('bad-body', 'Send a form.');
  // Lines end as they are stored everywhere else.
  for (const [name, values] of fields)
    fields.set(
      name,
      values.map((value) => value.replaceAll('\r\n', '\n')),
    );
  return { fields, files };
}
