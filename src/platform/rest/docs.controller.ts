/** The OpenAPI document, and a page a person reads it by that needs nothing from outside. */
import { Controller, Get, Req, Res, type Type } from '@nestjs/common';
import type { Request, Response } from 'express';
import { escapeHtml } from '../escape-html.js';
import { ReadyDocument } from './ready-document.js';

interface Entry {
  operationId: string;
  tags: string[];
  summary: string;
  description: string;
  parameters?: { name: string; in: string; required: boolean; description?: string; schema: Json }[];
  requestBody?: { content: Record<string, { schema: Json }> };
  responses: Record<string, { description: string; content?: Record<string, { schema: Json }> }>;
}
type Json = Record<string, unknown>;
interface Document {
  info: { title: string; description: string; version: string };
  tags: { name: string }[];
  paths: Record<string, Record<string, Entry>>;
  components: { schemas: Record<string, Json> };
}

export function docsController(document: Json): Type {
  // The document is made by `openapi.ts`, in the form that the page reads.
  const page = new ReadyDocument('text/html; charset=utf-8', pageOf(document as unknown as Document));
  const json = new ReadyDocument('application/json; charset=utf-8', JSON.stringify(document));
  @Controller()
  class DocsController {
    @Get('openapi.json')
    openapi(@Req() request: Request, @Res() response: Response): void {
      json.send(request, response);
    }

    @Get('docs')
    docs(@Req() request: Request, @Res() response: Response): void {
      page.send(request, response);
    }
  }
  return DocsController;
}

const escape = (value: unknown): string => escapeHtml(String(value));

/** A schema in a few words, with a link to each named one. */
function words(schema: Json | undefined): string {
  if (!schema) return '';
  if (typeof schema.$ref === 'string') {
    const name = schema.$ref.split('/').pop() ?? '';
    return `<a href="#shape-${escape(name)}">${escape(name)}</a>`;
  }
  if (Array.isArray(schema.anyOf)) return (schema.anyOf as Json[]).map(words).join(' or ');
  if (Array.isArray(schema.enum))
    return (schema.enum as unknown[]).map((one) => `<code>${escape(one)}</code>`).join(' ');
  if (schema.type === 'array') return `list of ${words(schema.items as Json)}`;
  if (schema.type === 'object') {
    const properties = Object.entries((schema.properties ?? {}) as Record<string, Json>);
    return properties.length
      ? `{ ${properties.map(([name, one]) => `${escape(name)}: ${words(one)}`).join(', ')} }`
      : 'object';
  }
  const type = Array.isArray(schema.type) ? schema.type.join(' or ') : String(schema.type ?? 'any');
  return escape(schema.format ? `${type} (${String(schema.format)})` : type);
}

/** A route that gives a file stands in no GraphQL schema. */
const isFile = (entry: Entry): boolean => entry.description.startsWith('Over REST only');

function entryOf(method: string, path: string, entry: Entry): string {
  const parameters = (entry.parameters ?? [])
    .map(
      (one) =>
        `<tr><td><code>${escape(one.name)}</code>${one.required ? ' *' : ''}</td><td>${escape(one.in)}</td>` +
        `<td>${words(one.schema)}</td>` +
        `<td>${escape(one.description ?? (one.schema.description as string) ?? '')}</td></tr>`,
    )
    .join('');
  const body = entry.requestBody?.content['application/json']?.schema;
  const replies = Object.entries(entry.responses)
    .map(
      ([status, one]) =>
        `<li><code>${status}</code> ${escape(one.description)} ` +
        `${status.startsWith('2') ? words(Object.values(one.content ?? {})[0]?.schema) : ''}</li>`,
    )
    .join('');
  return `<details id="${escape(entry.operationId)}"><summary><b class="${method}">${method.toUpperCase()}</b>
    <code>${escape(path)}</code> <span>${escape(entry.summary)}</span></summary>
<p>${escape(entry.description)} ${isFile(entry) ? '' : `In GraphQL: <code>${escape(entry.operationId)}</code>.`}</p>
${
  parameters
    ? `<table><thead><tr><th>Parameter</th><th>In</th><th>Kind</th><th>Meaning</th></tr></thead>
  <tbody>${parameters}</tbody></table>`
    : ''
}
${body ? `<p>Body: ${words(body)}</p>` : ''}<ul>${replies}</ul></details>`;
}

function pageOf(document: Document): string {
  const byTag = document.tags
    .map(({ name }) => {
      const entries = Object.entries(document.paths)
        .flatMap(([path, methods]) => Object.entries(methods).map(([method, entry]) => ({ method, path, entry })))
        .filter(({ entry }) => entry.tags.includes(name));
      const details = entries.map(({ method, path, entry }) => entryOf(method, path, entry)).join('\n');
      return `<section id="area-${escape(name)}"><h2>${escape(name)}</h2>${details}</section>`;
    })
    .join('\n');
  const shapes = Object.entries(document.components.schemas)
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([name, schema]) => {
      const required = new Set((schema.required as string[] | undefined) ?? []);
      const rows = Object.entries((schema.properties ?? {}) as Record<string, Json>)
        .map(
          ([field, one]) =>
            `<tr><td><code>${escape(field)}</code>${required.has(field) ? ' *' : ''}</td><td>${words(one)}</td>` +
            `<td>${escape((one.description as string) ?? '')}</td></tr>`,
        )
        .join('');
      return (
        `<details id="shape-${escape(name)}"><summary><code>${escape(name)}</code> ` +
        `<span>${escape((schema.description as string) ?? '')}</span></summary>` +
        `${rows ? `<table><tbody>${rows}</tbody></table>` : `<p>${words(schema)}</p>`}</details>`
      );
    })
    .join('\n');
  return `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>${escape(document.info.title)}: the two APIs</title>
<style>
:root{color-scheme:light dark;--line:#8884;--mute:#777}
body{font:16px/1.5 system-ui,sans-serif;max-width:62rem;margin:0 auto;padding:1rem}
code{font-family:ui-monospace,monospace;font-size:.92em}
details{border-top:1px solid var(--line);padding:.35rem 0}summary{cursor:pointer}summary span{color:var(--mute);margin-left:.5rem}
summary b{display:inline-block;min-width:4.2rem;font-size:.8em}
table{border-collapse:collapse;margin:.5rem 0;width:100%;font-size:.92em}
  td,th{border:1px solid var(--line);padding:.2rem .5rem;text-align:left;vertical-align:top}
nav a{margin-right:1rem}@media print{details{break-inside:avoid}}
</style></head><body>
<h1>${escape(document.info.title)} ${escape(document.info.version)}</h1>
<p>${escape(document.info.description)}</p>
<p>REST below <code>/v1</code>, GraphQL at <code>/graphql</code>, both with the header <code>Authorization: Bearer &lt;key&gt;</code>.
The machine-readable form of this page is <a href="/openapi.json">/openapi.json</a>. A star marks what is required.</p>
<nav>${document.tags.map(({ name }) => `<a href="#area-${escape(name)}">${escape(name)}</a>`).join('')}<a href="#shapes">shapes</a></nav>
${byTag}
<section id="shapes"><h2>Shapes</h2>${shapes}</section>
<script>
function open(){var it=document.getElementById(decodeURIComponent(location.hash.slice(1)));
if(it&&it.tagName==='DETAILS'){it.open=true;it.scrollIntoView()}}
addEventListener('hashchange',open);open();
</script></body></html>`;
}
