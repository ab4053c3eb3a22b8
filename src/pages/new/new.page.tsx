/** New here: picture, kind, price, two words; the rest if wanted. */
import { IntakeResult } from '../../desk/intake/record-intake.shapes.js';
import { ownerOnly } from '../../platform/operation/operation.js';
import { Act, Choice, Fold, MoneyField, QuantityField, Select, TextField, When } from '../frame/components.js';
import type { ActDeclared, ActResult, Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { conditions, dispositions, machineKinds, options, sources, verdicts } from '../frame/words.js';
import { datesInWords } from '../machine/machines.page.js';
import { checkPictures, keepPictures, PictureField } from '../pictures/pictures.js';

const act = 'new';

async function show(view: View) {
  return {
    title: 'New here',
    answer: 'What came in?',
    rest: (
      <Act view={view} act={act} label="Save" files>
        <PictureField label="Pictures" />
        <Choice view={view} act={act} name="kind" label="Kind" required options={options(machineKinds)} />
        <MoneyField view={view} act={act} name="price" label="Paid" required />
        <TextField
          view={view}
          act={act}
          name="name"
          label="Maker and model"
          hint="two words will do"
          required
          max={160}
        />
        <Fold title="More about it">
          <Select
            view={view}
            act={act}
            name="source"
            label="It is from"
            value="classified"
            options={options(sources)}
          />
          <TextField view={view} act={act} name="seller" label="Seller" max={120} />
          <TextField view={view} act={act} name="claims" label="What the seller said" long />
          <QuantityField
            view={view}
            act={act}
            name="haul"
            label="Fetched from how far, there and back"
            quantity="distance"
          />
          <MoneyField view={view} act={act} name="fees" label="Fees beside the price" />
          <TextField view={view} act={act} name="serial" label="Serial number" max={80} />
          <TextField
            view={view}
            act={act}
            name="year"
            label="Year, as far as one can tell"
            inputmode="numeric"
            max={4}
          />
          <TextField view={view} act={act} name="engine" label="Engine" max={120} />
          <QuantityField view={view} act={act} name="width" label="Clearing width" quantity="length" />
          <Select view={view} act={act} name="condition" label="Condition" value="2" options={options(conditions)} />
          <Select view={view} act={act} name="disposition" label="It is" value="sell" options={options(dispositions)} />
          <TextField view={view} act={act} name="missing" label="What is missing on it" hint="separate with commas" />
          <TextField view={view} act={act} name="component" label="First thing you saw: on which part" max={120} />
          <TextField view={view} act={act} name="observation" label="And what" long />
          <Select view={view} act={act} name="verdict" label="So" value="repair" options={options(verdicts)} />
          <TextField view={view} act={act} name="notes" label="Notes" long />
          <When view={view} act={act} days />
        </Fold>
      </Act>
    ),
  };
}

/** The first word is the maker; without a second one the model is not known yet. */
function makerAndModel(name: string): { maker: string; model: string } {
  const [maker = '', ...rest] = name.trim().split(/\s+/);
  return { maker: maker.slice(0, 80), model: rest.join(' ').slice(0, 80) || 'model not known' };
}

const takeIn: ActDeclared = {
  name: act,
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const kind = form.oneOf('kind', ['singleStageThrower', 'twoStageThrower', 'walkBehindMower', 'other']);
    const price = form.moneyNeeded('price', 'what was paid; 0 for a gift');
    const name = form.needed('name', 'what it is');
    const source = form.oneOf(
      'source',
      ['classified', 'auction', 'donation', 'tradeIn', 'dealer', 'other'],
      'classified',
    );
    const haulKilometres = form.quantity('haul', 'distance');
    const fees = form.money('fees');
    const width = form.quantity('width', 'length');
    const year = form.whole('year');
    const condition = form.whole('condition') ?? 2;
    const disposition = form.oneOf('disposition', ['sell', 'keep', 'donor', 'scrap'], 'sell');
    const missing = (form.text('missing') ?? '')
      .split(',')
      .map((one) => one.trim())
      .filter(Boolean);
    const component = form.text('component');
    const observation = form.text('observation');
    if (component && !observation) form.fault('observation', 'Say what you saw.');
    const verdict = form.oneOf('verdict', ['serveOn', 'repair', 'replace', 'remove'], 'repair');
    checkPictures(form);
    form.check();
    const result = await view.act('recordIntake', IntakeResult, {
      source,
      acquiredDate: form.day(),
      price,
      ...(fees ? { fees } : {}),
      ...(haulKilometres ? { haulKilometres } : {}),
      seller: form.text('seller'),
      sellerClaims: form.text('claims'),
      machines: [
        {
          kind,
          ...makerAndModel(name),
          serial: form.text('serial'),
          yearEstimate: year,
          engine: form.text('engine'),
          clearingWidthMillimetres: width === null ? null : Math.round(width),
          condition,
          disposition,
          equipment: missing.map((one) => ({ name: one.slice(0, 80), status: 'missing' })),
          notes: form.text('notes'),
          findings: component ? [{ component, observation, verdict }] : [],
        },
      ],
    });
    const [machine] = result.machines;
    if (machine) await keepPictures(view, form, { machineId: machine.machine.id }, { moment: 'before' });
    const job = machine?.job;
    if (!job) return { said: `Saved: ${name}.`, to: '/machines' };
    const dates = machine.forecast ? ` ${datesInWords(view, machine.forecast)}.` : '';
    const bring = machine.expectedPrice
      ? ` It should bring ${view.say.about(machine.expectedPrice.expected.likely)}.`
      : '';
    return { said: `Saved as job ${job.number}:${dates}${bring}`, to: `/machine/${job.number}` };
  },
};

export const newPage: Page = { path: '/new', roles: ownerOnly, show };
export const newActs: readonly ActDeclared[] = [takeIn];
