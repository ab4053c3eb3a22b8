/** What of a machine's findings bears on a component's wear. */
import { asDay } from '../platform/operation/columns.js';
import type { OperationContext } from '../platform/operation/operation.js';
import type { Stored } from '../platform/operation/stored.js';
import { treeOf } from './components/index.js';
import { type Outlook, outlookOf } from './wear.js';

type Row = Stored<'finding'>;
const numberOf = (figure: { toString(): string } | null): number | null =>
  figure === null ? null : Number(figure.toString());

/** The outlook of each finding's component, from all readings of it on its machine: one statement. Words where nothing can be told. */
export async function outlooksOf(
  context: OperationContext,
  machineKind: string,
  findings: readonly Row[],
): Promise<Map<string, Outlook | string>> {
  const all = await context.tx.finding.findMany({
    where: {
      machineId: { in: [...new Set(findings.map((one) => one.machineId))] },
      archivedAt: null,
      measuredValue: { not: null },
    },
    orderBy: [{ foundDate: 'asc' }, { id: 'asc' }],
  });
  const tree = treeOf(machineKind);
  return new Map(
    findings.map((finding) => [
      finding.id,
      outlookOf(
        tree.get(finding.componentCode),
        all
          .filter(
            (one) =>
              one.machineId === finding.machineId &&
              one.position === finding.position &&
              (finding.componentCode
                ? one.componentCode === finding.componentCode
                : one.component.toLowerCase() === finding.component.toLowerCase()),
          )
          .map((one) => ({
            foundDate: asDay(one.foundDate),
            unit: one.unit,
            measuredValue: numberOf(one.measuredValue),
            newSize: numberOf(one.newSize),
            limitLow: numberOf(one.limitLow),
            limitHigh: numberOf(one.limitHigh),
          })),
      ),
    ]),
  );
}
