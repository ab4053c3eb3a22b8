/** Deciding on what was found, and how far a job goes, by thumb. */
import { ProposalsDecided } from '../../desk/proposals/proposals.shapes.js';
import { EquipmentChanged } from '../../desk/scope/equipment.operations.js';
import { ScopeChosen } from '../../desk/scope/scope.shapes.js';
import { ownerOnly, workers } from '../../platform/operation/operation.js';
import { Job, Task } from '../../work/work.shapes.js';
import { plural } from '../frame/format.js';
import type { ActDeclared, ActResult } from '../frame/page.js';
import { scopes } from '../frame/words.js';
import { nameOfHand } from './name-of-hand.js';
import { workEffectSaid } from './work-effects.js';

const decide: ActDeclared = {
  name: 'decide',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('job', 'which machine');
    const findings = form.needed('findings', 'what was found').split(' ');
    const decision = form.oneOf('decision', ['accept', 'refuse']);
    const minutes = form.whole('minutes');
    form.check();
    const decided = await view.act('decideProposals', ProposalsDecided, {
      id,
      decisions: findings.map((findingId) => ({
        findingId,
        decision,
        ...(minutes ? { handsOnMinutes: minutes } : {}),
        ...(form.checked('withoutPart') ? { withoutPart: true } : {}),
        ...(form.checked('withoutCoats') ? { withoutCoats: true } : {}),
      })),
    });
    const { tasks, partsNeeded } = decided;
    const said =
      decision === 'refuse'
        ? 'Left as it is.'
        : `${tasks.length === 0 ? 'It is planned already.' : `To do: ${tasks.map((task) => task.name).join('; ')}.`}` +
          `${partsNeeded.length > 0 ? ` Noted: ${partsNeeded.join('; ')}.` : ''}`;
    return {
      said: `${said}${workEffectSaid(view, decided.effects)}`,
      undo: {
        act: 'undecide',
        fields: { job: id, findings: findings.join(' ') },
        says: 'What came of it goes, as far as nobody has begun it.',
      },
      to: form.has('to') ? form.raw('to') : undefined,
    };
  },
};

const undecide: ActDeclared = {
  name: 'undecide',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('job', 'which machine');
    const findingIds = form.needed('findings', 'what was found').split(' ');
    form.check();
    await view.act('reopenProposals', ProposalsDecided, { id, findingIds });
    return { said: 'Taken back: it is still to be decided.' };
  },
};

const scope: ActDeclared = {
  name: 'scope',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('job', 'which machine');
    const wanted = form.oneOf('scope', ['full', 'mechanical', 'mendOneFault', 'sellAsFound', 'stripForParts']);
    form.check();
    const { scope: before } = await view.read('job', Job, { id });
    const findingIds = [...form.all('fault')];
    const chosen = await view.act('chooseScope', ScopeChosen, {
      id,
      scope: wanted,
      ...(form.has('reason') ? { reason: form.text('reason') } : {}),
      ...(wanted === 'mendOneFault' ? { findingIds } : {}),
    });
    const out = chosen.skippedTasks.length;
    const back = chosen.restoredTasks.length;
    return {
      said:
        `${scopes[wanted]}.${out > 0 ? ` ${plural(out, 'task')} left out.` : ''}` +
        `${back > 0 ? ` ${plural(back, 'task')} taken in again.` : ''}${workEffectSaid(view, chosen.effects)}`,
      undo:
        before === 'mendOneFault' || before === wanted
          ? null
          : {
              act: 'scope',
              fields: { job: id, scope: before },
              says: `The job goes as far as before: ${scopes[before]}.`,
            },
    };
  },
};

const asFound: ActDeclared = {
  name: 'asFound',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('job', 'which machine');
    form.check();
    await view.act('recordAsFound', Job, {
      id,
      recordedBy: (await nameOfHand(view)).slice(0, 80),
      fuelDrained: form.checked('fuelDrained'),
      plugWireOff: form.checked('plugWireOff'),
      ...(form.has('note') ? { note: form.text('note') } : {}),
    });
    return { said: 'Recorded: as found, not safe to run. It may be offered so.' };
  },
};

const skip: ActDeclared = {
  name: 'skip',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('task', 'which task');
    const reason = form.needed('reason', 'why it is not wanted');
    form.check();
    const task = await view.act('skipTask', Task, { id, reason });
    return {
      said: `Left out: ${task.name}.`,
      undo: { act: 'unskip', fields: { task: id }, says: 'The task is wanted again, with the parts noted for it.' },
    };
  },
};

const unskip: ActDeclared = {
  name: 'unskip',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('task', 'which task');
    form.check();
    const task = await view.act('restoreTask', Task, { id });
    return { said: `To do again: ${task.name}.` };
  },
};

const equipment: ActDeclared = {
  name: 'equipment',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('machine', 'which machine');
    const name = form.needed('name', 'what it is');
    const added = form.checked('added');
    form.check();
    const changed = await view.act('changeEquipment', EquipmentChanged, {
      id,
      name,
      change: added ? 'add' : 'remove',
      ...(form.has('reason') ? { reason: form.text('reason') } : {}),
    });
    return {
      said: `${name} is ${added ? 'on it' : 'off it'}. ${changed.wentTo}${workEffectSaid(view, changed.effects)}`,
      undo: {
        act: 'equipment',
        fields: { machine: id, name, ...(added ? {} : { added: 'yes' }) },
        says: `${name} is noted as ${added ? 'off' : 'on'} it again.`,
      },
    };
  },
};

export const scopeActs: readonly ActDeclared[] = [decide, undecide, scope, asFound, skip, unskip, equipment];
