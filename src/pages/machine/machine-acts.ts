/** Everything that can happen to a machine on its own page. */
import { Part } from '../../catalogue/catalogue.shapes.js';
import { Finding, SafetyCheck } from '../../diagnosis/diagnosis.shapes.js';
import { LedgerEntry } from '../../ledger/ledger.shapes.js';
import { Machine } from '../../machines/machines.shapes.js';
import { ownerOnly, workers } from '../../platform/operation/operation.js';
import { PartNeed, PartNeedStep } from '../../stock/stock.shapes.js';
import { Job, Task } from '../../work/work.shapes.js';
import { effectsSaid } from '../frame/effects.js';
import type { ActDeclared, ActResult } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { TAKEN_BACK } from '../frame/words.js';
import { checkPictures, keepPictures } from '../pictures/pictures.js';
import { nameOfHand } from './name-of-hand.js';

const found: ActDeclared = {
  name: 'found',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const machineId = form.needed('machine', 'which machine');
    const component = form.needed('component', 'on which part of it');
    const observation = form.needed('observation', 'what you saw');
    const verdict = form.oneOf('verdict', ['verify', 'serveOn', 'repair', 'replace', 'remove']);
    const numbers = {
      measuredValue: form.number('measured'),
      newSize: form.number('new'),
      limitLow: form.number('low'),
      limitHigh: form.number('high'),
      unit: form.text('unit'),
      rustGrade: form.whole('rust'),
      position: form.text('position'),
      reason: form.text('reason'),
    };
    checkPictures(form);
    form.check();
    const finding = await view.act('createFinding', Finding, {
      machineId,
      component,
      observation,
      verdict,
      foundDate: form.day(),
      foundBy: (await nameOfHand(view)).slice(0, 80),
      ...Object.fromEntries(Object.entries(numbers).filter(([, value]) => value !== null)),
    });
    await keepPictures(view, form, { findingId: finding.id });
    return {
      said: `Noted: ${finding.component}. ${finding.nextStep ? view.say.sentence(finding.nextStep) : ''}`.trim(),
      undo: { act: 'unfound', fields: { finding: finding.id }, says: 'The finding is struck from the record.' },
      to: form.has('to') ? form.raw('to') : undefined,
    };
  },
};

const unfound: ActDeclared = {
  name: 'unfound',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('finding', 'which finding');
    form.check();
    const { version } = await view.read('finding', Finding, { id });
    await view.act('archiveFinding', Finding, { id, version });
    return { said: 'Taken back: the finding is struck from the record.' };
  },
};

/** A part by its name as the catalogue has it; a new entry when it has none of that name. */
async function partNamed(view: View, name: string, family: string): Promise<string> {
  const known = await view.list('parts', Part, { search: name, first: 50 });
  const same = known.items.find((part) => part.name.toLowerCase() === name.toLowerCase());
  return same?.id ?? (await view.act('createPart', Part, { name, family })).id;
}

const need: ActDeclared = {
  name: 'need',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const taskId = form.needed('task', 'for which task');
    const name = form.needed('partName', 'which part');
    const quantity = form.numberNeeded('quantity', 'how many');
    const family = form.text('family') ?? 'other';
    const findingId = form.text('finding');
    form.check();
    const partId = await partNamed(view, name, family);
    const made = await view.act('createPartNeed', PartNeedStep, { taskId, partId, quantity });
    if (findingId) {
      const finding = await view.read('finding', Finding, { id: findingId });
      await view.act('changeFinding', Finding, { id: findingId, version: finding.version, partNeedId: made.need.id });
    }
    return {
      said: `Needed: ${view.say.quantity(quantity)} × ${name}.${effectsSaid(view, made.effects)}`,
      undo: { act: 'unneed', fields: { need: made.need.id }, says: 'The task no longer waits for it.' },
      to: form.has('to') ? form.raw('to') : undefined,
    };
  },
};

const needStep = (name: string, operation: string, said: string): ActDeclared => ({
  name,
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('need', 'which part');
    form.check();
    const { version } = await view.read('partNeed', PartNeed, { id });
    const { effects } = await view.act(operation, PartNeedStep, { id, version });
    const undo =
      name === 'fitted'
        ? {
            act: 'unfitted',
            fields: { need: id },
            says: 'The part lies in its bin again, held for the task; its cost goes back.',
          }
        : null;
    return { said: `${said}${effectsSaid(view, effects)}`, undo };
  },
});

const newPart: ActDeclared = {
  name: 'newPart',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const name = form.needed('name', 'what it is called');
    const family = form.needed('family', 'what kind of part it is');
    form.check();
    const part = await view.act('createPart', Part, { name, family });
    return { said: `${part.name} is in the catalogue.`, to: `/missing/order?part=${part.id}` };
  },
};

const check: ActDeclared = {
  name: 'check',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const jobId = form.needed('job', 'which machine');
    const code = form.needed('check', 'which check');
    const passed = form.oneOf('passed', ['yes', 'no']) === 'yes';
    form.check();
    const made = await view.act('createSafetyCheck', SafetyCheck, {
      jobId,
      check: code,
      passed,
      checkedDate: form.day(),
      checkedBy: (await nameOfHand(view)).slice(0, 80),
      ...(form.has('note') ? { note: form.text('note') } : {}),
    });
    return { said: `${made.title}: ${passed ? 'passed' : 'failed'}.` };
  },
};

const jobChange: ActDeclared = {
  name: 'job',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('job', 'which machine');
    const version = form.whole('version');
    const changes: Record<string, unknown> = {};
    if (form.has('promisedSent')) changes.promisedDate = form.date('promised');
    if (form.has('notesSent')) changes.notes = form.text('notes');
    const priority = form.whole('priority');
    if (priority !== null) changes.priority = priority;
    form.check();
    await view.act('changeJob', Job, { id, version, ...changes });
    return { said: 'Noted.' };
  },
};

const machineChange: ActDeclared = {
  name: 'machine',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('machine', 'which machine');
    const version = form.whole('version');
    const changes = {
      maker: form.text('maker'),
      model: form.text('model'),
      description: form.text('description'),
      serial: form.text('serial'),
      yearEstimate: form.whole('year'),
      engine: form.text('engine'),
      engineType: form.oneOfOr('engineType', ['fourStroke', 'twoStroke', 'electric']),
      clearingWidthMillimetres: roundOr(form.quantity('width', 'length')),
      condition: form.whole('condition') ?? 2,
      disposition: form.oneOf('disposition', ['sell', 'keep', 'donor', 'scrap'], 'sell'),
      notes: form.text('notes'),
    };
    form.check();
    await view.act('changeMachine', Machine, { id, version, ...changes });
    return { said: 'The machine is noted so.' };
  },
};
const roundOr = (value: number | null): number | null => (value === null ? null : Math.round(value));

const close: ActDeclared = {
  name: 'closeJob',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('job', 'which machine');
    const outcome = form.oneOf('outcome', ['kept', 'partedOut', 'scrapped', 'handedBack']);
    form.check();
    const { version, number } = await view.read('job', Job, { id });
    await view.act('closeJob', Job, { id, version, outcome });
    return {
      said: `Job ${number} is closed.`,
      undo: { act: 'reopenJob', fields: { job: id }, says: 'The job is open again, with its tasks as they were.' },
    };
  },
};

const reopenJob: ActDeclared = {
  name: 'reopenJob',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('job', 'which machine');
    form.check();
    const { version, number } = await view.read('job', Job, { id });
    await view.act('reopenJob', Job, { id, version });
    return { said: `Job ${number} is open again.` };
  },
};

const spent: ActDeclared = {
  name: 'spent',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const jobId = form.needed('job', 'which machine');
    const amount = form.moneyNeeded('amount', 'how much');
    const description = form.needed('description', 'what for');
    const kind = form.oneOf('kind', ['consumable', 'selling', 'supplierRefund', 'other'], 'consumable');
    form.check();
    const entry = await view.act('createLedgerEntry', LedgerEntry, {
      jobId,
      amount,
      description,
      kind,
      occurredDate: form.day(),
    });
    return {
      said: `Booked: ${view.say.money(entry.amount)} for ${entry.description}.`,
      undo: { act: 'unspent', fields: { entry: entry.id }, says: 'The booking is reversed.' },
    };
  },
};

const unspent: ActDeclared = {
  name: 'unspent',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('entry', 'which booking');
    form.check();
    await view.act('reverseLedgerEntry', LedgerEntry, { id, reason: form.text('reason') ?? TAKEN_BACK });
    return { said: 'Taken back: the booking is reversed.' };
  },
};

const moreWork: ActDeclared = {
  name: 'moreWork',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const jobId = form.needed('job', 'which machine');
    const name = form.needed('name', 'what is to be done');
    const kind = form.oneOf(
      'kind',
      ['repair', 'clean', 'straighten', 'derust', 'assemble', 'service', 'test', 'parts'],
      'repair',
    );
    const minutes = form.whole('minutes') ?? 60;
    form.check();
    const task = await view.act('createTask', Task, {
      jobId,
      code: `extra-${view.say.now.getTime().toString(36)}`,
      name,
      kind,
      handsOnMinutes: minutes,
      minMinutes: Math.round(minutes * 0.6),
      maxMinutes: minutes * 2,
      placeKind: 'bench',
    });
    return {
      said: `To do: ${task.name}.`,
      undo: { act: 'lessWork', fields: { task: task.id }, says: 'The task is struck from the list.' },
    };
  },
};

const lessWork: ActDeclared = {
  name: 'lessWork',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('task', 'which task');
    form.check();
    const { version, name } = await view.read('task', Task, { id });
    await view.act('archiveTask', Task, { id, version });
    return { said: `Struck from the list: ${name}.` };
  },
};

export const machineActs: readonly ActDeclared[] = [
  found,
  unfound,
  need,
  needStep('unneed', 'archivePartNeed', 'The task no longer waits for it.'),
  needStep('fitted', 'usePart', 'Fitted; the job bears its cost.'),
  needStep('unfitted', 'returnPartToStock', 'Taken back: it lies in its bin again.'),
  newPart,
  check,
  jobChange,
  machineChange,
  close,
  reopenJob,
  spent,
  unspent,
  moreWork,
  lessWork,
];
