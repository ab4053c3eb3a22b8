/** Find: any word, number, name or label code. */
import type { z } from 'zod';
import { type Found, SearchResult } from '../../desk/questions/search.queries.js';
import { Go } from '../frame/components.js';
import { capital, inWords } from '../frame/format.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';

type Hit = z.output<typeof Found>;

function pathOf(hit: Hit): { path: string; query?: Record<string, string> } | null {
  if (hit.jobNumber !== null) return { path: `/machine/${hit.jobNumber}` };
  if (hit.kind === 'part' || hit.kind === 'bin') return { path: `/thing/${hit.kind}/${hit.id}` };
  if (hit.kind === 'order' || hit.kind === 'supplier') return { path: '/missing' };
  if (hit.kind === 'machine') return { path: '/machines' };
  return null;
}

async function show(view: View) {
  const asked = (view.query.q ?? '').trim().slice(0, 200);
  const result = asked ? await view.read('search', SearchResult, { text: asked }) : null;
  return {
    title: 'Find',
    answer: !result
      ? 'What are you looking for?'
      : result.found.length === 0
        ? `Nothing is called “${asked}”.`
        : `${capital(inWords(result.found.length))} ` +
          `${result.found.length === 1 ? 'thing' : 'things'}${result.more ? ' and more' : ''} for “${asked}”.`,
    rest: (
      <>
        <form method="get" action={view.to('/find')} role="search">
          <label class="field">
            <span>Any word, number, name, or what a label says</span>
            <input name="q" value={asked} maxlength={200} autocomplete="off" type="search" />
          </label>
          <div class="do">
            <button>Find</button>
          </div>
        </form>
        <ul class="links">
          {(result?.found ?? []).map((hit) => {
            const to = pathOf(hit);
            const words =
              hit.kind === 'job' || hit.jobNumber === null ? hit.title : `${hit.title} (job ${hit.jobNumber})`;
            return (
              <li>
                {to ? (
                  <Go view={view} {...to}>
                    {words}
                    {hit.detail ? `, ${hit.detail.slice(0, 80)}` : ''}
                  </Go>
                ) : (
                  words
                )}
              </li>
            );
          })}
        </ul>
      </>
    ),
  };
}

export const findPage: Page = { path: '/find', show };
