/** The written starting point as a person reads it: Markdown that also reads well printed as it stands. */
import { rustScale } from '../../engine/diagnosis/index.js';
import { shortWorkTime } from '../../engine/durations.js';
import { kindWords, machineName } from '../../machines/machine-name.js';
import { precedence } from '../../work/cautions.js';
import { fittedWords } from './maintenance.js';
import type { StartingPoint } from './starting-point.shapes.js';

const engineTypes: Record<string, string> = {
  fourStroke: 'four-stroke',
  twoStroke: 'two-stroke',
  electric: 'electric',
};
const verdicts: Record<string, string> = {
  verify: 'to be looked at',
  serveOn: 'serve on',
  repair: 'repair',
  replace: 'replace',
  remove: 'remove',
};

/** Somebody's words on one line, with nothing in them taken for Markdown or HTML. */
const plain = (words: string): string =>
  words
    .replace(/\s+/g, ' ')
    .trim()
    .replace(/[\\`*_[\]<>|#~]/g, '\\$&');

type Found = StartingPoint['findings'][number];
type Figure = { toString(): string } | null;
/** A finding as its row is: what was measured are decimals there. */
type FindingFacts = Pick<
  Found,
  | 'id'
  | 'component'
  | 'position'
  | 'observation'
  | 'verdict'
  | 'unit'
  | 'reason'
  | 'withinLimits'
  | 'rustGrade'
  | 'decision'
  | 'decisionReason'
> &
  Record<'measuredValue' | 'limitLow' | 'limitHigh', Figure>;
type CheckFacts = Pick<
  StartingPoint['safetyChecks'][number],
  'check' | 'checkedDate' | 'title' | 'passed' | 'checkedBy' | 'note'
>;
export type StartingPointFacts = Omit<StartingPoint, 'text' | 'findings' | 'safetyChecks'> & {
  findings: FindingFacts[];
  safetyChecks: CheckFacts[];
};

/**
 * @param facts the starting point without its text
 * @param unitSystem what the shop's people read lengths in
 * @param withHours it tells how long was worked
 */
export function startingPointText(facts: StartingPointFacts, unitSystem: string, withHours = false): string {
  const { machine } = facts;
  const section = (title: string, lines: string[], none: string) => [
    '',
    `## ${title}`,
    '',
    ...(lines.length > 0 ? lines.map((line) => `- ${line}`) : [none]),
  ];
  return [
    `# ${plain(machineName(machine))}: starting point`,
    '',
    `Job ${facts.jobNumber}, written on ${facts.writtenOn}. What was found, what was done, and the maintenance that remains.`,
    ...(facts.asFound
      ? [
          '',
          `**${facts.asFound.text}** ${plain(facts.asFound.record)}${facts.asFound.note ? ` ${ended(plain(facts.asFound.note))}` : ''}`,
        ]
      : []),
    ...(facts.workLeft.length > 0
      ? ['', `**Not finished yet.** Still to do: ${facts.workLeft.map(plain).join('; ')}.`]
      : []),
    ...(facts.workSkipped.length > 0
      ? ['', `Left out: ${facts.workSkipped.map((one) => `${plain(one.name)} (${plain(one.reason)})`).join('; ')}.`]
      : []),
    ...section('The machine', identityLines(facts, unitSystem), ''),
    ...section(
      'Found and decided',
      facts.findings.map((one) => findingLine(one, facts.notDoneFindingIds)),
      'Nothing was recorded.',
    ),
    ...section(
      'Done',
      [
        ...facts.workDone.map((task) => `${task.finishedDate}: ${plain(task.name)}`),
        ...(withHours && facts.labourMinutes > 0 ? [`Work in all: ${shortWorkTime(facts.labourMinutes)}`] : []),
      ],
      'Nothing yet.',
    ),
    ...section(
      'Parts fitted',
      facts.partsFitted.map(
        (part) =>
          `${part.fittedOn}: ${plain(fittedWords(part))}${part.inPlaceOf ? `, in place of ${plain(part.inPlaceOf)}` : ''}`,
      ),
      'None recorded.',
    ),
    ...section(
      'Coats',
      facts.coats.map(
        (coat) =>
          `${coat.appliedOn}: ${plain(coat.surface)}, coat ${coat.coatNumber}, ` +
          `${plain(coat.product)}${coat.dryFilmMicrometres === null ? '' : `, ${coat.dryFilmMicrometres} µm dry`}`,
      ),
      'None recorded.',
    ),
    ...section('Safety checks', safetyLines(facts), 'None needed.'),
    ...section(
      'Maintenance from here',
      facts.maintenance.map(
        (one) =>
          `**${one.title}**, ${one.nextDue}. ${one.text}${one.fitted.length > 0 ? ` Fitted: ${one.fitted.map(plain).join('; ')}.` : ''}`,
      ),
      '',
    ),
    '',
    `The maintenance is common practice, counted from this hand-over; where the ` +
      `maker's manual says otherwise, the manual is right. ${precedence}`,
    '',
  ].join('\n');
}

function identityLines({ machine, equipment }: StartingPointFacts, unitSystem: string): string[] {
  const width = machine.clearingWidthMillimetres;
  const carried = (status: string) =>
    equipment
      .filter((one) => one.status === status)
      .map((one) => plain(one.name) + (one.note ? ` (${plain(one.note)})` : ''))
      .join(', ');
  const lines: [string, string | number | null][] = [
    ['Kind', kindWords[machine.kind] ?? machine.kind],
    ['Serial', machine.serial && plain(machine.serial)],
    ['Year, estimated', machine.yearEstimate],
    [
      'Engine',
      [machine.engine && plain(machine.engine), machine.engineType && engineTypes[machine.engineType]]
        .filter(Boolean)
        .join(', '),
    ],
    ['Displacement', machine.engineDisplacementCubicCentimetres && `${machine.engineDisplacementCubicCentimetres} cm³`],
    ['Working width', width && (unitSystem === 'imperial' ? `${Math.round(width / 2.54) / 10} in` : `${width} mm`)],
    ['Fitted', carried('fitted')],
    ['Removed', carried('removed')],
    ['Missing', carried('missing')],
  ];
  return lines.filter(([, value]) => value).map(([name, value]) => `${name}: ${value}`);
}

function findingLine(finding: FindingFacts, notDone: readonly string[]): string {
  const { measuredValue, limitLow, limitHigh, withinLimits } = finding;
  const limits =
    limitLow !== null && limitHigh !== null
      ? `${limitLow} to ${limitHigh}`
      : limitLow !== null
        ? `at least ${limitLow}`
        : limitHigh !== null
          ? `at most ${limitHigh}`
          : null;
  const unit = finding.unit ? ` ${plain(finding.unit)}` : '';
  const judged = withinLimits === null ? '' : withinLimits ? ', within limits' : ', out of limits';
  const measured =
    measuredValue === null
      ? ''
      : ` Measured ${measuredValue}${unit}${limits ? ` (limit ${limits}${unit}${judged})` : ''}.`;
  const reason = finding.reason ? `: ${plain(finding.reason)}` : '';
  const against = finding.verdict === 'serveOn' && withinLimits === false;
  const decided = against ? '**serves on outside its limits**' : verdicts[finding.verdict];
  const where = finding.position ? `, ${finding.position}` : '';
  const rust = finding.rustGrade === null ? '' : ` Rust: ${rustWords(finding.rustGrade)}`;
  const undone = notDone.includes(finding.id)
    ? ` **Not done${finding.decisionReason && finding.decision === 'refused' ? `**: ${ended(plain(finding.decisionReason))}` : '.**'}`
    : '';
  return (
    `**${plain(finding.component)}${where}**: ${ended(plain(finding.observation))}${measured}${rust} ` +
    `Decided: ${ended(`${decided}${reason}`)}${undone}`
  );
}

const rustWords = (grade: number): string => {
  const step = rustScale[grade];
  return step ? `${step.title.toLowerCase()} (${grade} of 5). ${step.sentence}` : `${grade} of 5.`;
};

function safetyLines({ safetyChecks, safetyMissing }: StartingPointFacts): string[] {
  return [
    ...safetyChecks.map(
      (one) =>
        `${one.checkedDate}: ${one.title}, ${one.passed ? 'passed' : '**failed**'}, by ` +
        `${plain(one.checkedBy)}${one.note ? ` (${plain(one.note)})` : ''}`,
    ),
    ...safetyMissing
      .filter(({ code }) => !safetyChecks.some((one) => one.check === code))
      .map((one) => `**Not checked yet:** ${one.title}`),
  ];
}

const ended = (sentence: string): string => (/[.!?]$/.test(sentence) ? sentence : `${sentence}.`);
