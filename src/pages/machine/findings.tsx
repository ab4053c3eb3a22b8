/** What was found on a machine, each with what it suggests, to be taken up or left by thumb. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import type { JobProposals } from '../../desk/proposals/proposals.shapes.js';
import type { Finding } from '../../diagnosis/diagnosis.shapes.js';
import type { Picture } from '../../pictures/pictures.shapes.js';
import { Act, Fold, Go, Reasons } from '../frame/components.js';
import type { View } from '../frame/view.js';
import { verdicts } from '../frame/words.js';
import { Pictures } from '../pictures/pictures.js';

type FindingRow = z.output<typeof Finding>;
type Proposals = z.output<typeof JobProposals>;
type Proposal = Proposals['proposals'][number];

const rustTitles = ['none', 'a bloom', 'a crust', 'pitted', 'thinned', 'rusted through'];

interface Given {
  view: View;
  job: { number: number; id: string };
  findings: readonly FindingRow[];
  /** Null where nothing can be decided any more. */
  proposals: Proposals | null;
  pictures: readonly z.output<typeof Picture>[];
}

export const Findings: FC<Given> = ({ view, job, findings, proposals, pictures }) => (
  <>
    <h2>What was found</h2>
    {findings.length === 0 ? <p>Nothing yet.</p> : null}
    {proposals && proposals.proposals.length > 1 && view.writes ? (
      <>
        <p>
          {proposals.proposals.length} things to decide, {view.say.work(proposals.handsOnMinutes)} of work in all
          {proposals.sharedMinutes > 0
            ? `; doing them together saves ${view.say.work(proposals.sharedMinutes)} of taking apart`
            : ''}
          .
        </p>
        <div class="do">
          <Act
            view={view}
            act="decide"
            about="all"
            fields={{
              job: job.id,
              findings: proposals.proposals.map((one) => one.findingId).join(' '),
              decision: 'accept',
            }}
            label="Do all of it"
          />
          <Go view={view} path={`/machine/${job.number}/work`} button>
            What would that change?
          </Go>
        </div>
      </>
    ) : null}
    <ul class="rows">
      {findings.map((finding) => (
        <li>
          <strong>
            {finding.component}
            {finding.position ? `, ${finding.position}` : ''}
          </strong>
          : {finding.observation} ({verdicts[finding.verdict]})
          {finding.measuredValue != null ? (
            <p>
              Measured {finding.measuredValue} {finding.unit}
              {finding.withinLimits === null
                ? ''
                : finding.withinLimits
                  ? ', within its limits'
                  : ', outside its limits'}
            </p>
          ) : null}
          {finding.rustGrade !== null ? <p>Rust: {rustTitles[finding.rustGrade]}</p> : null}
          {finding.reason ? <p>{finding.reason}</p> : null}
          <Pictures view={view} pictures={pictures.filter((one) => one.findingId === finding.id)} />
          <Decision
            view={view}
            job={job}
            finding={finding}
            proposal={proposals?.proposals.find((one) => one.findingId === finding.id) ?? null}
          />
        </li>
      ))}
    </ul>
  </>
);

const Decision: FC<{ view: View; job: Given['job']; finding: FindingRow; proposal: Proposal | null }> = ({
  view,
  job,
  finding,
  proposal,
}) => {
  if (proposal) return <ToDecide view={view} job={job} proposal={proposal} />;
  if (finding.decision === null) return finding.nextStep ? <p>{view.say.sentence(finding.nextStep)}</p> : null;
  return (
    <>
      <p>
        {finding.decision === 'accepted' ? 'Will be done' : 'Left as it is'}
        {finding.decisionReason ? `: ${finding.decisionReason}` : ''}
        {finding.decidedDate ? `, decided ${view.say.onDay(finding.decidedDate)}` : ''}.
      </p>
      {finding.nextStep && view.writes ? (
        <p>
          {view.say.sentence(finding.nextStep)}{' '}
          <Go view={view} path={`/machine/${job.number}/part`} query={{ finding: finding.id }}>
            Say which part
          </Go>
        </p>
      ) : null}
      {view.writes ? (
        <Act
          view={view}
          act="undecide"
          about={finding.id}
          fields={{ job: job.id, findings: finding.id }}
          label="Decide anew"
          quiet
        />
      ) : null}
    </>
  );
};

const ToDecide: FC<{ view: View; job: Given['job']; proposal: Proposal }> = ({ view, job, proposal }) => (
  <>
    <p>
      {view.say.sentence(proposal.title)}
      {proposal.doneByTaskId
        ? ' It is planned already.'
        : ` ${view.say.work(proposal.handsOnMinutes)}` +
          (proposal.accessMinutes > 0
            ? `, and ${view.say.work(proposal.accessMinutes)} to get at it (${proposal.reach.join(', ').toLowerCase()})`
            : '') +
          '.'}
      {proposal.part ? ` Takes ${view.say.quantity(proposal.part.quantity)} × ${proposal.part.partName}.` : ''}
      {proposal.coats ? ' Then primer and colour on the place.' : ''}
    </p>
    {view.writes ? (
      <div class="do">
        <Act
          view={view}
          act="decide"
          about={`${proposal.findingId}-yes`}
          fields={{ job: job.id, findings: proposal.findingId, decision: 'accept' }}
          label="Do it"
        />
        <Act
          view={view}
          act="decide"
          about={`${proposal.findingId}-no`}
          fields={{ job: job.id, findings: proposal.findingId, decision: 'refuse' }}
          label="Leave it"
          quiet
        />
      </div>
    ) : null}
    <Reasons view={view} reasons={proposal.reasons} title="Why so?" />
    {view.writes && !proposal.doneByTaskId ? (
      <Fold title="Not quite so" open={view.refusal?.about === proposal.findingId}>
        <Act
          view={view}
          act="decide"
          about={proposal.findingId}
          fields={{ job: job.id, findings: proposal.findingId, decision: 'accept' }}
          label="Do it so"
        >
          <label class="field">
            <span>Likely minutes</span>
            <input name="minutes" inputmode="numeric" maxlength={5} value={String(proposal.handsOnMinutes)} />
          </label>
          <label class="choice">
            <span>
              <input type="checkbox" name="withoutPart" value="yes" /> without a part
            </span>
          </label>
          {proposal.coats ? (
            <label class="choice">
              <span>
                <input type="checkbox" name="withoutCoats" value="yes" /> without paint
              </span>
            </label>
          ) : null}
        </Act>
      </Fold>
    ) : null}
  </>
);
