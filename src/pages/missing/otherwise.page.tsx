/** A part does not come in time: the other ways, with what each would do. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { Part } from '../../catalogue/catalogue.shapes.js';
import { type ShortageOption, ShortageOptions } from '../../desk/shortage/shortage.shapes.js';
import { ownerOnly } from '../../platform/operation/operation.js';
import { OrderLine } from '../../purchasing/orders.shapes.js';
import { Act, MoneyField, Reasons, TextField, Tick } from '../frame/components.js';
import { Effects } from '../frame/effects.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';

type Option = z.output<typeof ShortageOption>;

const names: Record<Option['kind'], string> = {
  stock: 'Take them from a bin',
  interchange: 'Another part that serves',
  equivalentFastener: 'A fastener that is as good',
  donor: 'Take them off a donor',
  otherSupplier: 'Order elsewhere',
  rework: 'Make or repair them here',
  resequence: 'Do other work first',
  wait: 'Wait',
};
const uncapitalized = (words: string) => words.charAt(0).toLowerCase() + words.slice(1);
const canBeTaken = new Set<string>(['stock', 'interchange', 'equivalentFastener', 'donor', 'otherSupplier', 'rework']);

const OptionCard: FC<{ view: View; option: Option; line: string; index: number }> = ({ view, option, line, index }) => {
  const act = 'option';
  const about = `${option.kind}-${index}`;
  const { stockId, machineId, supplierId } = option;
  return (
    <article class="card">
      <h2 class="name">
        {names[option.kind]}
        {option.partName ? `: ${option.partName}` : ''}
      </h2>
      <p>
        {option.allowed ? '' : 'Not allowed. '}
        {option.arrivalDate ? `On hand ${view.say.day(option.arrivalDate)}. ` : ''}
        {option.cost ? `Costs ${view.say.money(option.cost)}. ` : ''}
      </p>
      <Effects view={view} effects={option.effects} />
      {option.probabilityReadyBefore != null && option.probabilityReadyAfter != null ? (
        <p>
          Ready before the snow: {view.say.chance(option.probabilityReadyAfter)}, instead of{' '}
          {view.say.chance(option.probabilityReadyBefore)}.
        </p>
      ) : null}
      <Reasons view={view} reasons={[...option.reasons, ...option.rankReasons]} open={!option.allowed} />
      {option.allowed && canBeTaken.has(option.kind) ? (
        <Act
          view={view}
          act={act}
          about={about}
          label="Do this"
          fields={{ line, kind: option.kind, stockId, machineId, supplierId }}
        >
          {option.kind === 'donor' ? (
            <>
              <MoneyField view={view} act={act} about={about} name="unitValue" label="Each is worth" required />
              <MoneyField
                view={view}
                act={act}
                about={about}
                name="restValue"
                label="The rest of the donor is then worth"
                required
              />
              <TextField view={view} act={act} about={about} name="bin" label="Put them into" value="Job tray" />
            </>
          ) : null}
          {option.kind === 'otherSupplier' ? (
            <>
              <MoneyField view={view} act={act} about={about} name="unitPrice" label="Each costs there" required />
              <MoneyField view={view} act={act} about={about} name="shippingCost" label="Shipping" />
            </>
          ) : null}
          {option.kind === 'rework' ? (
            <>
              <TextField
                view={view}
                act={act}
                about={about}
                name="reworkMinutes"
                label="Minutes of work"
                inputmode="numeric"
                required
              />
              <MoneyField view={view} act={act} about={about} name="reworkCost" label="Material" />
            </>
          ) : null}
          <Tick view={view} act={act} about={about} name="cancelRest" label="Cancel what is still to come" />
        </Act>
      ) : null}
    </article>
  );
};

async function show(view: View) {
  const orderLineId = view.query.line ?? '';
  const line = await view.read('orderLine', OrderLine, { id: orderLineId });
  const part = await view.read('part', Part, { id: line.partId });
  const { options } = await view.read('shortageOptions', ShortageOptions, { id: orderLineId });
  const [best] = options.filter((option) => option.allowed);
  return {
    title: 'Cannot wait',
    answer: best
      ? `${part.name}: ${best.kind === 'wait' ? 'waiting is best' : `best is to ${uncapitalized(names[best.kind])}`}.`
      : `${part.name}: there is no other way on record.`,
    priced: true,
    rest: options.map((option, index) => <OptionCard view={view} option={option} line={orderLineId} index={index} />),
  };
}

export const otherwisePage: Page = { path: '/missing/otherwise', roles: ownerOnly, show };
