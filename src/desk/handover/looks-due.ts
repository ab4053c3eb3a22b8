/** What serves on although it wears: when to look at it next. Pure. */
import { treeOf } from '../../diagnosis/components/index.js';
import { lifeWords, type Outlook } from '../../diagnosis/wear.js';
import type { MaintenanceDue } from './maintenance.js';
import { seasonOf } from './maintenance-items.js';

interface ServedOn {
  id: string;
  component: string;
  componentCode: string | null;
  position: string | null;
  verdict: string;
  withinLimits: boolean | null;
}

/** Of each wearing component that serves on, by the latest finding on it. @param outlooks words where nothing can be told */
export function looksDue(
  outlooks: ReadonlyMap<string, Outlook | string>,
  findings: readonly ServedOn[],
  machineKind: string,
): MaintenanceDue[] {
  const tree = treeOf(machineKind);
  const latest = new Map<string, ServedOn>();
  for (const one of findings) latest.set(`${one.componentCode ?? one.component.toLowerCase()} ${one.position}`, one);
  const { before } = seasonOf(machineKind);
  return [...latest.values()].flatMap((finding): MaintenanceDue[] => {
    const outlook = outlooks.get(finding.id);
    const told = outlook !== undefined && typeof outlook !== 'string' ? outlook : null;
    if (finding.verdict !== 'serveOn' || (!told && !tree.get(finding.componentCode)?.wear)) return [];
    const soon = finding.withinLimits === false || (told !== null && (told.projection.seasonsLeft.low ?? Infinity) < 1);
    const last = told?.readings.at(-1);
    return [
      {
        title: `${finding.component}: look again`,
        dueAfterHours: soon ? SOON_HOURS : null,
        nextDue: soon ? `after ${SOON_HOURS} hours of running or ${before}, whichever comes first` : before,
        text:
          told && last
            ? `It measured ${last.value} ${told.unit} on ${last.date} and is worn out ${told.grows ? 'above' : 'below'} ` +
              `${told.limit} ${told.unit}: ${lifeWords(told.projection)}.`
            : 'It wears and serves on: measure it, and write it down beside this.',
        fitted: [],
      },
    ];
  });
}

/** A part near or past its limit is looked at once early in the season. A judgement, no source. */
const SOON_HOURS = 5;
