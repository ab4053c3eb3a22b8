/** Find: any word, number, name or label code, over everything the shop has on record. No price is searched or shown. */
import { z } from 'zod';
import { type OperationContext, query } from '../../platform/operation/operation.js';
import { choice, id, int, shape, text, wholeNumber } from '../../platform/shapes.js';

export const FoundKind = choice('FoundKind', ['job', 'machine', 'task', 'finding', 'part', 'bin', 'order', 'supplier']);
export const Found = shape(
  'Found',
  {
    kind: FoundKind,
    id,
    title: z.string(),
    detail: z.string().nullable(),
    jobNumber: wholeNumber.nullable().meta({ scalar: 'Int', description: 'The job it belongs to.' }),
  },
  'One thing that was found.',
);
export const SearchResult = shape('SearchResult', { found: z.array(Found), more: z.boolean() }, 'What was found.');

interface Row {
  kind: z.output<typeof FoundKind>;
  id: string;
  title: string;
  detail: string | null;
  jobNumber: number | null;
}

const labelCode = /^(?:urn:frostwright:[a-z-]+:|.*\/at\/[a-z]+\/)([0-9a-f-]{36})$/i;

async function search({ tx }: OperationContext, asked: string, first: number) {
  const code = labelCode.exec(asked.trim())?.[1] ?? null;
  const words = asked.trim().toLowerCase().split(/\s+/).slice(0, 6);
  const pattern = words.map((word) => `%${word.replace(/[\\%_]/g, '\\$&')}%`);
  const number = /^(?:job\s*)?(\d{1,9})$/i.exec(asked.trim())?.[1];
  const rows = await tx.$queryRaw<Row[]>`
    with everything as (
      select 1 as rank, 'job' as kind, j.id, 'Job ' || j.number || ': ' || j.title as title, j.notes as detail, j.number as "jobNumber",
        j.number::text || ' job ' || j.title || ' ' || coalesce(m.maker, '') || ' ' || coalesce(m.model, '') || ' '
          || coalesce(m.description, '') || ' ' || coalesce(m.serial, '') || ' ' || coalesce(m.engine, '') || ' ' || coalesce(j.notes, '')
          as words, j."createdAt"
        from "Job" j join "Machine" m on m.id = j."machineId" where j."archivedAt" is null
      union all select 2, 'machine', m.id,
        coalesce(nullif(concat_ws(' ', m.maker, coalesce(m.model, m.description)), ''), 'maker not known'), m.serial, null,
        concat_ws(' ', m.maker, m.model, m.description, m.serial) || ' ' || coalesce(m.notes, ''), m."createdAt"
        from "Machine" m where m."archivedAt" is null
          and not exists (select from "Job" j where j."machineId" = m.id and j."archivedAt" is null)
      union all select 3, 'part', p.id, p.name, p.fastener, null,
        p.name || ' ' || p.family || ' ' || coalesce(p.fastener, '') || ' ' || coalesce(p.notes, '') || ' '
        || coalesce((select string_agg(n.maker || ' ' || n.number, ' ')
        from "MakerNumber" n where n."partId" = p.id), ''),
        p."createdAt"
        from "Part" p where p."archivedAt" is null
      union all select 4, 'bin', s.id, 'Bin ' || s.bin || ': ' || p.name, s.condition, null, s.bin || ' ' || p.name || ' bin', s."createdAt"
        from "Stock" s join "Part" p on p.id = s."partId" where s."archivedAt" is null and s.quantity > 0
      union all select 5, 'order', o.id, 'Order at ' || s.name, o.reference, null,
        s.name || ' ' || coalesce(o.reference, '') || ' order ' || coalesce(o.notes, ''), o."createdAt"
        from "Order" o join "Supplier" s on s.id = o."supplierId" where o."archivedAt" is null
      union all select 6, 'supplier', s.id, s.name, null, null, s.name, s."createdAt" from "Supplier" s where s."archivedAt" is null
      union all select 7, 'finding', f.id, f.component || ': ' || left(f.observation, 120), null, j.number,
        f.component || ' ' || f.observation, f."createdAt"
        from "Finding" f left join "Job" j on j.id = f."jobId" where f."archivedAt" is null
      union all select 8, 'task', t.id, t.name, null, j.number, t.name, t."createdAt"
        from "Task" t join "Job" j on j.id = t."jobId" where t."archivedAt" is null and j."closedDate" is null
    )
    select kind, id, title, detail, "jobNumber" from everything
    where case when ${code}::text is not null then id::text = lower(${code}::text)
      when ${number ?? null}::text is not null and kind = 'job' and "jobNumber"::text = ${number ?? null}::text then true
      else lower(words) like all (${pattern}::text[]) end
    order by (kind = 'job' and "jobNumber"::text = ${number ?? ''}) desc, rank, "createdAt" desc limit ${first + 1}`;
  return { found: rows.slice(0, first), more: rows.length > first };
}

export const searchQuery = query({
  name: 'search',
  summary: 'Find any word, number, name or label code on record',
  rest: { method: 'GET', path: '/search' },
  input: z.strictObject({
    text: text(200),
    first: int(1, 200).default(40).meta({ scalar: 'Int', description: 'How many at most.' }),
  }),
  output: SearchResult,
  run: (context, input) => search(context, input.text, input.first),
});
