/** What can be done to a task, wherever it is shown. */
import type { FC } from 'hono/jsx';
import { Act, Fold, Go, Select, TextField, When } from '../frame/components.js';
import type { View } from '../frame/view.js';

export interface TaskAtHand {
  taskId: string;
  jobNumber: number;
  minutes: number;
}

/** Where the order of the tasks stands against it, the owner is asked why it is done all the same. */
const AllTheSame: FC<{ view: View; act: string; about: string }> = ({ view, act, about }) =>
  view.owns && view.refusal?.act === act && view.refusal.about === about ? (
    <TextField view={view} act={act} about={about} name="reason" label="Do it all the same, because" max={400} />
  ) : null;

export const TaskActs: FC<{ view: View; task: TaskAtHand; running: { taskId: string } | null }> = ({
  view,
  task,
  running,
}) => {
  const about = task.taskId;
  const fields = { task: task.taskId };
  const begun = running?.taskId === task.taskId;
  const workingTime =
    view.device.personId && !begun ? (
      <Select
        view={view}
        act="finish"
        about={about}
        name="minutes"
        label="Worked on it"
        none="time not noted"
        options={[...new Set([task.minutes, 15, 30, 45, 60, 90, 120, 180, 240])]
          .filter((minutes) => minutes > 0)
          .sort((a, b) => a - b)
          .map((minutes) => ({ value: String(minutes), label: view.say.work(minutes) }))}
      />
    ) : null;
  return (
    <>
      <div class="do">
        {begun ? null : (
          <Act view={view} act="start" about={about} fields={fields} label="Start">
            <AllTheSame view={view} act="start" about={about} />
          </Act>
        )}
        <Act view={view} act="finish" about={about} fields={fields} label="Done" quiet={!begun}>
          <AllTheSame view={view} act="finish" about={about} />
        </Act>
        {begun ? <Act view={view} act="stop" about={about} label="Stop for now" quiet /> : null}
      </div>
      <Fold title="Another time, or it cannot go on">
        <Act view={view} act="finish" about={`${about}-late`} fields={fields} label="Done then">
          <When view={view} act="finish" about={`${about}-late`} />
          {workingTime}
        </Act>
        <ul class="links">
          <li>
            <Go view={view} path={`/machine/${task.jobNumber}/part`} query={{ task: task.taskId }}>
              A part is missing
            </Go>
          </li>
          <li>
            <Go view={view} path={`/machine/${task.jobNumber}/found`}>
              I found something
            </Go>
          </li>
        </ul>
        {begun ? (
          <Act
            view={view}
            act="stop"
            about={`${about}-weather`}
            fields={{ note: 'Stopped for the weather' }}
            label="The weather stops it"
            quiet
          />
        ) : null}
      </Fold>
    </>
  );
};
