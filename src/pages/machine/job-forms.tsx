/** What the owner may change about a job and its machine. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import type { Machine } from '../../machines/machines.shapes.js';
import type { Job } from '../../work/work.shapes.js';
import { Act, Choice, Fold, MoneyField, QuantityField, Select, TextField, When } from '../frame/components.js';
import type { View } from '../frame/view.js';
import { conditions, dispositions, engineTypes, options } from '../frame/words.js';

const workKinds = {
  repair: 'a repair',
  clean: 'cleaning',
  straighten: 'straightening',
  derust: 'de-rusting',
  assemble: 'assembling',
  service: 'service',
  test: 'a test',
};

export const JobForms: FC<{ view: View; job: z.output<typeof Job>; machine: z.output<typeof Machine> }> = ({
  view,
  job,
  machine,
}) => {
  const open = (act: string) => view.refusal?.act === act && view.refusal.about !== 'undo';
  const fields = { job: job.id, version: job.version };
  return (
    <>
      <h2>Change something</h2>
      {job.closedDate ? (
        ['kept', 'partedOut', 'scrapped', 'handedBack'].includes(job.status) ? (
          <Act view={view} act="reopenJob" fields={{ job: job.id }} label="Open the job again" quiet />
        ) : null
      ) : (
        <>
          <Fold title="More work" open={open('moreWork')}>
            <Act view={view} act="moreWork" fields={{ job: job.id }} label="Add it">
              <TextField view={view} act="moreWork" name="name" label="What is to be done" required max={160} />
              <Select
                view={view}
                act="moreWork"
                name="kind"
                label="It is"
                value="repair"
                options={options(workKinds)}
              />
              <TextField
                view={view}
                act="moreWork"
                name="minutes"
                label="Likely minutes"
                inputmode="numeric"
                value="60"
                max={5}
              />
            </Act>
          </Fold>
          <Fold title="Promised day, order, notes" open={open('job')}>
            <Act view={view} act="job" fields={{ ...fields, promisedSent: 'yes', notesSent: 'yes' }} label="Note it">
              <TextField
                view={view}
                act="job"
                name="promised"
                label="Promised for"
                type="date"
                value={job.promisedDate}
              />
              <Choice
                view={view}
                act="job"
                name="priority"
                label="Compared with the others it goes"
                value={String(Math.sign(job.priority) * 10)}
                options={[
                  { value: '10', label: 'first' },
                  { value: '0', label: 'as it falls' },
                  { value: '-10', label: 'last' },
                ]}
              />
              <TextField view={view} act="job" name="notes" label="Notes" long value={job.notes} />
            </Act>
          </Fold>
          <Fold title="Money paid for it" open={open('spent')}>
            <Act view={view} act="spent" fields={{ job: job.id }} label="Book it">
              <MoneyField view={view} act="spent" name="amount" label="Amount" required />
              <TextField view={view} act="spent" name="description" label="What for" required />
              <Select
                view={view}
                act="spent"
                name="kind"
                label="It is"
                value="consumable"
                options={options({
                  consumable: 'material',
                  selling: 'for selling it',
                  supplierRefund: 'paid back to the shop',
                  other: 'something else',
                })}
              />
              <When view={view} act="spent" days />
            </Act>
          </Fold>
          <Fold title="Close the job without a sale" open={open('closeJob')}>
            <Act view={view} act="closeJob" fields={fields} label="Close it" quiet>
              <Choice
                view={view}
                act="closeJob"
                name="outcome"
                label="The machine is"
                required
                options={options(
                  job.purpose === 'warranty'
                    ? { handedBack: 'handed back' }
                    : { kept: 'kept', partedOut: 'taken apart for parts', scrapped: 'scrapped' },
                )}
              />
            </Act>
          </Fold>
        </>
      )}
      <Fold title="The machine itself" open={open('machine')}>
        <Act view={view} act="machine" fields={{ machine: machine.id, version: machine.version }} label="Note it">
          <TextField view={view} act="machine" name="maker" label="Maker" value={machine.maker} max={80} />
          <TextField view={view} act="machine" name="model" label="Model" value={machine.model} max={80} />
          <TextField
            view={view}
            act="machine"
            name="description"
            label="Two words to know it by"
            value={machine.description}
            max={160}
          />
          <TextField view={view} act="machine" name="serial" label="Serial number" value={machine.serial} max={80} />
          <TextField
            view={view}
            act="machine"
            name="year"
            label="Year"
            inputmode="numeric"
            value={machine.yearEstimate}
            max={4}
          />
          <TextField view={view} act="machine" name="engine" label="Engine" value={machine.engine} max={120} />
          <Select
            view={view}
            act="machine"
            name="engineType"
            label="The engine is"
            none="not known"
            value={machine.engineType ?? undefined}
            options={options(engineTypes)}
          />
          <QuantityField
            view={view}
            act="machine"
            name="width"
            label="Clearing width"
            quantity="length"
            stored={machine.clearingWidthMillimetres}
          />
          <Select
            view={view}
            act="machine"
            name="condition"
            label="Condition"
            value={String(machine.condition)}
            options={options(conditions)}
          />
          <Select
            view={view}
            act="machine"
            name="disposition"
            label="It is"
            value={machine.disposition}
            options={options(dispositions)}
          />
          <TextField view={view} act="machine" name="notes" label="Notes" long value={machine.notes} />
        </Act>
      </Fold>
    </>
  );
};
