/** What is missing: what is not ordered, what is on the way, and what each holds up. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { type AwaitedPart, MissingParts, type UnorderedPart } from '../../desk/questions/missing-parts.queries.js';
import { Act, Choice, Fold, Go, Reasons, TextField, Tick, When } from '../frame/components.js';
import { capital, inWords, list } from '../frame/format.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';

type Awaited = z.output<typeof AwaitedPart>;
type Unordered = z.output<typeof UnorderedPart>;

const HoldsUp: FC<{ view: View; tasks: Awaited['holdsUp'] }> = ({ view, tasks }) =>
  tasks.length === 0 ? (
    <p class="soft">No task waits for it.</p>
  ) : (
    <p>
      Holds up{' '}
      {tasks.map((task, index) => (
        <>
          {index > 0 ? ', ' : ''}
          <Go view={view} path={`/machine/${task.jobNumber}`}>
            {task.taskName.toLowerCase()} on job {task.jobNumber}
          </Go>
        </>
      ))}
    </p>
  );

function expected(view: View, { arrival, line }: Awaited): string {
  const promise = line.promisedDate ? `promised for ${view.say.day(line.promisedDate)}` : 'no day promised';
  if (!arrival?.p50Date) return capital(`${promise}; nobody can say when it comes.`);
  const sure =
    arrival.p80Date && arrival.p80Date !== arrival.p50Date ? `, safe to count on ${view.say.day(arrival.p80Date)}` : '';
  return capital(`${promise}; likely here ${view.say.day(arrival.p50Date)}${sure}.`);
}

const AwaitedCard: FC<{ view: View; part: Awaited }> = ({ view, part }) => {
  const { line } = part;
  const about = line.id;
  const fields = { line: line.id };
  const title = `${view.say.quantity(line.quantityOutstanding)} × ${part.partName}`;
  return (
    <article class="card">
      <h2 class="name">
        {title} from {part.supplierName}
      </h2>
      <p>{expected(view, part)}</p>
      <HoldsUp view={view} tasks={part.holdsUp} />
      {view.writes ? (
        <>
          <Act view={view} act="came" about={about} fields={{ ...fields, bin: part.bin ?? 'Post tray' }}>
            <div class="do">
              <button aria-label={`Came: ${title}`}>Came</button>
              {view.owns ? (
                <Go view={view} path="/missing/otherwise" query={{ line: line.id }} button>
                  Cannot wait
                </Go>
              ) : null}
            </div>
            <p class="soft">All of them, into {part.bin ?? 'Post tray'}.</p>
          </Act>
          <Fold title="Only some, wrong, or a new date">
            <Act view={view} act="came" about={`${about}-some`} fields={fields} label="Note it">
              <Choice
                view={view}
                act="came"
                about={`${about}-some`}
                name="condition"
                label="What came was"
                value="good"
                options={[
                  { value: 'good', label: 'right' },
                  { value: 'wrong', label: 'the wrong thing' },
                  { value: 'damaged', label: 'damaged' },
                ]}
              />
              <TextField
                view={view}
                act="came"
                about={`${about}-some`}
                name="quantity"
                label="How many"
                inputmode="decimal"
                value={view.say.quantity(line.quantityOutstanding)}
                max={12}
              />
              <TextField
                view={view}
                act="came"
                about={`${about}-some`}
                name="bin"
                label="Put into"
                value={part.bin ?? 'Post tray'}
                max={60}
              />
              <TextField view={view} act="came" about={`${about}-some`} name="note" label="Note" />
              <When view={view} act="came" about={`${about}-some`} days />
            </Act>
            <Act view={view} act="newDate" about={about} fields={fields} label="The supplier says so" quiet>
              <TextField view={view} act="newDate" about={about} name="date" label="New day" type="date" />
              <Tick view={view} act="newDate" about={about} name="withdrawn" label="No day any more" />
            </Act>
            {view.owns ? (
              <Act view={view} act="cancelLine" about={about} fields={fields} label="Cancel what is to come" quiet />
            ) : null}
          </Fold>
        </>
      ) : null}
      <Reasons view={view} reasons={part.arrival?.reasons ?? []} title="Why then?" />
    </article>
  );
};

const UnorderedCard: FC<{ view: View; part: Unordered }> = ({ view, part }) => (
  <article class="card">
    <h2 class="name">
      {view.say.quantity(part.need.quantity)} × {part.partName}
    </h2>
    <HoldsUp view={view} tasks={[part.holdsUp]} />
    <p>
      {part.bin
        ? `There are enough in ${part.bin}.`
        : part.p50Date
          ? `Ordered today they would likely be here ${view.say.day(part.p50Date)}.`
          : 'Nobody can say yet how long it takes.'}
    </p>
    {view.writes ? (
      <div class="do">
        {part.stockId ? (
          <Act
            view={view}
            act="fromBin"
            about={part.need.id}
            fields={{ need: part.need.id, version: part.need.version, stock: part.stockId }}
            label={`Take from ${part.bin}`}
          />
        ) : null}
        {view.owns ? (
          <Go view={view} path="/missing/order" query={{ part: part.need.partId, need: part.need.id }} button>
            Order
          </Go>
        ) : null}
      </div>
    ) : null}
  </article>
);

function answerOf(missing: z.output<typeof MissingParts>): string {
  const { unordered, awaited } = missing;
  const holding = new Set(
    [...awaited.flatMap((part) => part.holdsUp), ...unordered.map((part) => part.holdsUp)].map(
      (task) => task.jobNumber,
    ),
  );
  if (unordered.length + awaited.length === 0) return 'Nothing is missing.';
  const parts = [
    unordered.length > 0
      ? `${inWords(unordered.length)} ${unordered.length === 1 ? 'part is' : 'parts are'} not ordered`
      : '',
    awaited.length > 0
      ? `${inWords(awaited.length)} ${awaited.length === 1 ? 'thing is' : 'things are'} on the way`
      : '',
  ].filter(Boolean);
  const held =
    holding.size === 0
      ? 'none holds a machine up'
      : holding.size === 1
        ? 'one machine is held up'
        : `${inWords(holding.size)} machines are held up`;
  return `${capital(list(parts))}; ${held}.`;
}

async function show(view: View) {
  const missing = await view.read('missingParts', MissingParts);
  const late = missing.awaited.filter((part) => part.line.backOrdered);
  const onTheWay = missing.awaited.filter((part) => !part.line.backOrdered);
  return {
    title: 'What is missing',
    answer: answerOf(missing),
    doing: view.owns ? (
      <Go view={view} path="/missing/order" button>
        Order something
      </Go>
    ) : null,
    rest: (
      <>
        {missing.unordered.length > 0 ? <h2>Not ordered</h2> : null}
        {missing.unordered.map((part) => (
          <UnorderedCard view={view} part={part} />
        ))}
        {late.length > 0 ? <h2>Late</h2> : null}
        {late.map((part) => (
          <AwaitedCard view={view} part={part} />
        ))}
        {onTheWay.length > 0 ? <h2>On the way</h2> : null}
        {onTheWay.map((part) => (
          <AwaitedCard view={view} part={part} />
        ))}
      </>
    ),
  };
}

export const missingPage: Page = { path: '/missing', show };
