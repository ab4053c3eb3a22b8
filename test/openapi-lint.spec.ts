/** The OpenAPI document before two public linters, each with its recommended rules. */
import { createRequire } from 'node:module';
import { expect, it } from '@jest/globals';
import { createConfig, lintFromString } from '@redocly/openapi-core';
import { areas } from '../src/app.module.js';
import { describeField, hasWords } from '../src/platform/descriptions/describe-field.js';
import { openApiOf } from '../src/platform/rest/openapi.js';

const document = openApiOf(areas, '1.2.3');
const require = createRequire(import.meta.url);

it('has no error and no warning by the recommended rules of redocly', async () => {
  const config = await createConfig({ extends: ['recommended'] });
  const found = await lintFromString({ source: JSON.stringify(document), config });
  expect(found.map(({ ruleId, message, location }) => `${ruleId} ${message} ${location[0]?.pointer}`)).toEqual([]);
});

it('has no error and no warning by the recommended rules of spectral', async () => {
  const { Spectral } = require('@stoplight/spectral-core') as typeof import('@stoplight/spectral-core');
  const { oas } = require('@stoplight/spectral-rulesets') as typeof import('@stoplight/spectral-rulesets');
  const spectral = new Spectral();
  spectral.setRuleset({ extends: [[oas as never, 'recommended']] });
  const found = await spectral.run(document);
  expect(found.map(({ code, message, path }) => `${code} ${message} ${path.join('/')}`)).toEqual([]);
});

it('would be found out if something were wrong', async () => {
  const config = await createConfig({ extends: ['recommended'] });
  const wrong = { ...document, tags: [{ name: 'nothing' }] };
  expect(await lintFromString({ source: JSON.stringify(wrong), config })).not.toEqual([]);
});

it('describes every field and parameter, nearly all in words of their own', () => {
  const names: string[] = [];
  const made = new Set<string>();
  const see = (name: string, description: string | undefined, where: string) => {
    names.push(name);
    if (!description) missing.push(`${where}/${name}`);
    if (!hasWords(name) && description === describeField(name, undefined)) made.add(name);
  };
  const missing: string[] = [];
  const look = (value: unknown, where: string): void => {
    if (Array.isArray(value)) value.forEach((one, at) => look(one, `${where}/${at}`));
    else if (value !== null && typeof value === 'object')
      for (const [key, one] of Object.entries(value)) {
        if (key === 'properties')
          for (const [name, property] of Object.entries(one as Record<string, { description?: string }>))
            see(name, property.description, where);
        if (key === 'parameters')
          for (const parameter of one as { name: string; description?: string }[])
            see(parameter.name, parameter.description, where);
        look(one, `${where}/${key}`);
      }
  };
  look(document, '');
  expect(missing).toEqual([]);
  expect(names.length).toBeGreaterThan(1500);
  const unique = new Set(names);
  if (process.env.SHOW_FIGURES) console.log(`${unique.size} names, without words: ${[...made].join(' ')}`);
  expect(made.size / unique.size).toBeLessThan(0.05);
});
