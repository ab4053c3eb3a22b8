/** May I spray here now, before the coat: what the thermometer shows goes in, yes or no comes out. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { type CoatingProduct, SprayDecision } from '../../finish/finish.shapes.js';
import { DomainError } from '../../platform/errors.js';
import type { Place } from '../../shop/shop.shapes.js';
import { Fold, QuantityField, Reasons, Select, TextField } from '../frame/components.js';
import type { View } from '../frame/view.js';

const asked = ({ query }: View): boolean => ['air', 'humidity', 'metal'].some((name) => query[name]);

/** Null unless something was measured. @param jobId with a surface in the address, the coat beneath is asked as well */
export async function sprayDecision(
  view: View,
  jobId?: string,
): Promise<z.output<typeof SprayDecision> | string | null> {
  if (!asked(view)) return null;
  const { place, product, air, humidity, metal, surface } = view.query;
  const celsius = (typed: string | undefined) => (typed ? view.say.read('temperature', typed) : undefined);
  const question = {
    placeId: place || undefined,
    productId: product || undefined,
    airCelsius: celsius(air),
    humidityPercent: humidity ? Number(humidity.replace(',', '.')) : undefined,
    metalCelsius: celsius(metal),
    ...(jobId && surface ? { jobId, surface } : {}),
  };
  try {
    return await view.read('sprayDecision', SprayDecision, question);
  } catch (error) {
    // A slip of the pen is told beside the form, which keeps what was typed.
    if (error instanceof DomainError) return `${error.message} Write temperatures and humidity as plain numbers.`;
    throw error;
  }
}

export const SprayNow: FC<{
  view: View;
  path: string;
  decision: z.output<typeof SprayDecision> | string | null;
  places: readonly z.output<typeof Place>[];
  products: readonly z.output<typeof CoatingProduct>[];
  jobId?: string;
}> = ({ view, path, decision, places, products, jobId }) => {
  const { query } = view;
  const act = 'spray';
  return (
    <Fold title="May I spray here now?" open={decision !== null}>
      {typeof decision === 'string' ? <p class="caution">{decision}</p> : null}
      {decision !== null && typeof decision !== 'string' ? (
        <div class="card">
          <p>
            <strong>{decision.answer}</strong>
          </p>
          {decision.dewPointCelsius === null ? null : (
            <p>
              Dew point {view.say.show('temperature', decision.dewPointCelsius)}
              {decision.marginCelsius === null
                ? ''
                : `; the metal is ${view.say.show('temperatureSpan', decision.marginCelsius)} above it`}
              .
            </p>
          )}
          {decision.refusals.slice(1).map((one) => (
            <p class="caution">{view.say.sentence(one.detail)}</p>
          ))}
          {decision.warnings.map((one) => (
            <p class="caution">{view.say.sentence(one.detail)}</p>
          ))}
          <Reasons view={view} reasons={decision.reasons} />
        </div>
      ) : null}
      <form method="get" action={view.to(path)}>
        {jobId ? <input type="hidden" name="job" value={jobId} /> : null}
        {query.surface ? <input type="hidden" name="surface" value={query.surface} /> : null}
        <Select
          view={view}
          act={act}
          name="place"
          label="Where"
          value={query.place ?? places.find((place) => place.kind === 'sprayArea')?.id ?? ''}
          options={places.map((place) => ({ value: place.id, label: place.name }))}
        />
        <Select
          view={view}
          act={act}
          name="product"
          label="Out of which can"
          none="not chosen"
          value={query.product ?? ''}
          options={products.map((product) => ({ value: product.id, label: product.name }))}
        />
        <QuantityField view={view} act={act} name="air" label="Air" quantity="temperature" value={query.air ?? ''} />
        <TextField
          view={view}
          act={act}
          name="humidity"
          label="Humidity"
          hint="in percent"
          inputmode="decimal"
          value={query.humidity ?? ''}
        />
        <QuantityField
          view={view}
          act={act}
          name="metal"
          label="The metal itself"
          quantity="temperature"
          value={query.metal ?? ''}
        />
        <button>Ask</button>
      </form>
    </Fold>
  );
};
