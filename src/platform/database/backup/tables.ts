import type pg from 'pg';
import type { TableHead } from './file.js';

/**
 * The tables that hold the shops' records, each after all those it refers to, with the columns that are stored.
 * @throws Error when tables refer to each other in a circle
 */
export async function tablesInOrder(client: pg.ClientBase): Promise<TableHead[]> {
  const { rows } = await client.query<TableHead & { refersTo: string[] }>(`
    select c.relname as "table",
           array(select a.attname::text from pg_attribute a
                 where a.attrelid = c.oid and a.attnum > 0 and not a.attisdropped and a.attgenerated = '' order by a.attnum) as columns,
           array(select distinct r.relname::text from pg_constraint k join pg_class r on r.oid = k.confrelid
                 where k.conrelid = c.oid and k.contype = 'f' and r.oid <> c.oid) as "refersTo"
    from pg_class c
    where c.relnamespace = 'public'::regnamespace and c.relkind = 'r' and c.relname <> '_prisma_migrations'
    order by c.relname`);
  const ordered: TableHead[] = [];
  const placed = new Set<string>();
  while (ordered.length < rows.length) {
    const next = rows.filter(
      ({ table, refersTo }) => !placed.has(table) && refersTo.every((other) => placed.has(other)),
    );
    if (next.length === 0)
      throw new Error(
        `These tables refer to each other in a circle: ${rows
          .map(({ table }) => table)
          .filter((table) => !placed.has(table))
          .join(', ')}`,
      );
    for (const { table, columns } of next) {
      placed.add(table);
      ordered.push({ table, columns });
    }
  }
  return ordered;
}
