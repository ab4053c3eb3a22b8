/** Members of a record that are never stored, added to its rows before they are presented. */
import type { Operation, OperationContext, Presentable } from './operation.js';
import type { Page } from './page.js';

/**
 * The same operations, with what their rows lack worked out.
 * @param derive all rows of one reply at once, in their order, so that a list costs what one row costs
 */
export function derived(
  operations: Operation[],
  derive: (context: OperationContext, rows: Presentable[]) => Presentable[] | Promise<Presentable[]>,
): Operation[] {
  return operations.map((operation) => ({
    ...operation,
    async run(context, input) {
      const result = (await operation.run(context, input)) as Presentable;
      if (!operation.paged) return (await derive(context, [result]))[0];
      const page = result as Page;
      const rows = await derive(
        context,
        page.rows.map(({ node }) => node),
      );
      return { ...page, rows: page.rows.map((row, index) => ({ ...row, node: rows[index] })) };
    },
  }));
}
