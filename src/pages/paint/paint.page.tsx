/** May I paint: can I spray here now, may each coat be painted over, and which days ahead are fit. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { type CuringCoat, CuringCoats } from '../../desk/questions/curing-coats.queries.js';
import { at } from '../../engine/look-up.js';
import { CoatingProduct, TemperatureReading } from '../../finish/finish.shapes.js';
import { DomainError } from '../../platform/errors.js';
import { PaintWeather } from '../../season/stations/season.shapes.js';
import { Place } from '../../shop/shop.shapes.js';
import { Act, Fold, Go, QuantityField, Reasons, Select, Table, TextField, When } from '../frame/components.js';
import { capital } from '../frame/format.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { sprayDecision, SprayNow } from './spray-now.js';

type Curing = z.output<typeof CuringCoat>;
type Weather = z.output<typeof PaintWeather>;

const refusals: Record<string, string> = {
  rain: 'rain',
  cold: 'it is too cold',
  hot: 'it is too hot',
  damp: 'it is too damp',
  tooShort: 'it does not hold long enough',
};

/** In one line: may it be painted over now, until or from when. */
export function recoatInWords(view: View, { status }: Pick<Curing, 'status'>): string {
  const { recoat } = status;
  if (recoat.allowedNow) {
    const closes = recoat.periods.find(
      ({ opensAt, closesAt }) =>
        (!opensAt || Date.parse(opensAt) <= view.say.now.getTime()) &&
        closesAt &&
        Date.parse(closesAt) > view.say.now.getTime(),
    )?.closesAt;
    return closes ? `Recoat now, until ${view.say.moment(closes)}` : 'Recoat now';
  }
  const next = recoat.periods.find(({ opensAt }) => opensAt && Date.parse(opensAt) > view.say.now.getTime());
  if (next?.opensAt) return `Do not recoat before ${view.say.moment(next.opensAt)}`;
  return recoat.needsSanding ? 'Sand it before the next coat' : 'Do not recoat';
}

const CoatCard: FC<{ view: View; curing: Curing; places: readonly z.output<typeof Place>[] }> = ({
  view,
  curing,
  places,
}) => {
  const { coat, status } = curing;
  const closes = status.recoat.periods.find(
    ({ closesAt }) => closesAt && Date.parse(closesAt) > view.say.now.getTime(),
  )?.closesAt;
  return (
    <article class="card">
      <h2 class="name">
        <Go view={view} path={`/machine/${curing.jobNumber}`}>
          {capital(coat.surface)}, job {curing.jobNumber}
        </Go>
      </h2>
      {curing.topmost ? (
        <p>
          <strong>{recoatInWords(view, curing)}</strong>
          {closes && status.recoat.allowedNow ? (
            <>
              {' '}
              (<span data-until={closes}>closes {view.say.moment(closes)}</span>)
            </>
          ) : null}
        </p>
      ) : null}
      <p>
        {curing.productName}, coat {coat.coatNumber}, put on {view.say.moment(coat.appliedAt)}
        {curing.placeName ? `, stands in ${curing.placeName}` : ''}.{' '}
        {status.assemblyFrom
          ? `Assemble from ${view.say.moment(status.assemblyFrom)}.`
          : 'When it may be assembled is not known.'}
      </p>
      {status.warnings.map((warning) => (
        <p class="caution">{view.say.sentence(warning.detail)}</p>
      ))}
      {view.writes && curing.topmost ? (
        <div class="do">
          <Go
            view={view}
            path="/paint/coat"
            query={{ job: coat.jobId, surface: coat.surface, product: coat.productId }}
            button
          >
            Put the next coat on
          </Go>
          {status.recoat.needsSanding ? (
            <Act view={view} act="sanded" about={coat.id} label="Sanded" fields={{ coat: coat.id }} quiet />
          ) : null}
        </div>
      ) : null}
      {view.writes ? (
        <Fold title="Moved to another place" open={view.refusal?.act === 'moved' && view.refusal.about === coat.id}>
          <Act view={view} act="moved" about={coat.id} label="Note the move" fields={{ coat: coat.id }}>
            <Select
              view={view}
              act="moved"
              about={coat.id}
              name="place"
              label="Where it stands now"
              none="outdoors"
              value={status.placeId ?? ''}
              options={places.map((place) => ({ value: place.id, label: place.name }))}
            />
            <When view={view} act="moved" about={coat.id} />
          </Act>
        </Fold>
      ) : null}
      <Reasons view={view} reasons={[status.recoat.reason, ...status.reasons]} />
    </article>
  );
};

const Thermometer: FC<{
  view: View;
  places: readonly z.output<typeof Place>[];
  last: readonly z.output<typeof TemperatureReading>[];
}> = ({ view, places, last }) => (
  <Fold title="Note what a thermometer shows" open={view.refusal?.act === 'reading'}>
    <Act view={view} act="reading" label="Note it">
      <Select
        view={view}
        act="reading"
        name="place"
        label="Where"
        value={places.find((place) => place.kind === 'sprayArea')?.id ?? ''}
        options={places.map((place) => ({ value: place.id, label: place.name }))}
      />
      <QuantityField view={view} act="reading" name="air" label="Air" quantity="temperature" />
      <TextField view={view} act="reading" name="humidity" label="Humidity" hint="in percent" inputmode="decimal" />
      <QuantityField view={view} act="reading" name="metal" label="The metal itself" quantity="temperature" />
      <When view={view} act="reading" />
    </Act>
    {last.length > 0 ? (
      <p class="soft">
        Last: {view.say.show('temperature', at(last, 0).celsius)} in{' '}
        {places.find((place) => place.id === at(last, 0).placeId)?.name}, {view.say.moment(at(last, 0).readAt)}
      </p>
    ) : null}
  </Fold>
);

/** Until when in the year a coat can go on, with the chance of it. */
const LastDay: FC<{ view: View; weather: Weather }> = ({ view, weather }) => {
  const { lastDay } = weather;
  if (lastDay.continues) return null;
  const on = (probability: number) => lastDay.quantiles.find((one) => one.probability === probability)?.day;
  const [sure, even] = [on(0.8), on(0.5)];
  return (
    <p>
      {even
        ? `The last day to paint before the winter is as likely as not ${view.say.day(even)} or later`
        : 'As likely as not, no day to paint comes before the winter any more'}
      {sure ? `, four times in five ${view.say.day(sure)} or later` : ''}.
    </p>
  );
};

function weatherAnswer(view: View, weather: Weather): string {
  const now = view.say.now.getTime();
  const [today] = weather.comingDays;
  const open = today?.windows.find(({ from, to }) => Date.parse(from) <= now && Date.parse(to) > now);
  const source = today?.forecast ? 'by the forecast' : 'by past years';
  if (open) return `Likely paint weather until ${view.say.moment(open.to)}, ${source}.`;
  const later = weather.comingDays.flatMap((day) => day.windows).find(({ from }) => Date.parse(from) > now);
  if (later) return `Not now; likely paint weather from ${view.say.moment(later.from)}, ${source}.`;
  const likely = weather.wait.quantiles.find((one) => one.probability === 0.5)?.startsAt;
  const because = today?.refusal ? `: ${refusals[today.refusal]}` : '';
  return likely
    ? `No paint weather today${because}. Likely next ${view.say.day(view.say.dateOf(likely))}.`
    : `No paint weather in sight${because}.`;
}

async function weatherOf(view: View): Promise<Weather | string> {
  try {
    return await view.read('paintWeather', PaintWeather);
  } catch (error) {
    // Without a station's records the coats can still be told.
    if (error instanceof DomainError) return error.message;
    throw error;
  }
}

async function show(view: View) {
  const { coats } = await view.read('curingCoats', CuringCoats);
  const weather = await weatherOf(view);
  const places = (await view.list('places', Place)).items;
  const readings = (await view.list('temperatureReadings', TemperatureReading, { first: 1 })).items;
  const products = (await view.list('coatingProducts', CoatingProduct)).items;
  const decision = await sprayDecision(view);
  const top = coats.filter((coat) => coat.topmost);
  const covered = coats.filter((coat) => !coat.topmost);
  return {
    title: 'May I paint',
    answer:
      decision !== null && typeof decision !== 'string'
        ? decision.answer
        : typeof weather === 'string'
          ? 'What the weather allows is not known here.'
          : weatherAnswer(view, weather),
    more: (
      <>
        {typeof weather === 'string' ? <p>{weather}</p> : null}
        <p>Whether to spray now is for your own thermometer and hygrometer to say.</p>
        {typeof weather === 'string' ? null : <LastDay view={view} weather={weather} />}
        <SprayNow view={view} path="/paint" decision={decision} places={places} products={products} />
      </>
    ),
    doing: view.writes ? (
      <Go view={view} path="/paint/coat" button>
        A coat is on
      </Go>
    ) : null,
    rest: (
      <>
        {view.writes ? <Thermometer view={view} places={places} last={readings} /> : null}
        <h2>Coats</h2>
        {coats.length === 0 ? <p>No coat is curing.</p> : null}
        {top.map((curing) => (
          <CoatCard view={view} curing={curing} places={places} />
        ))}
        {covered.length > 0 ? (
          <Fold title="Coats below others">
            {covered.map((curing) => (
              <CoatCard view={view} curing={curing} places={places} />
            ))}
          </Fold>
        ) : null}
        {typeof weather === 'string' ? null : (
          <>
            <Table
              caption="The days ahead"
              rows={weather.comingDays}
              columns={[
                { head: 'Day', cell: (day) => capital(view.say.day(day.day)) },
                {
                  head: 'Paint weather',
                  cell: (day) =>
                    day.windows.length > 0
                      ? day.windows.map(({ from, to }) => `${view.say.time(from)} to ${view.say.time(to)}`).join(', ')
                      : day.refusal
                        ? `no: ${refusals[day.refusal]}`
                        : day.probability === null
                          ? 'not known'
                          : view.say.chance(day.probability),
                },
                { head: 'From', cell: (day) => (day.forecast ? 'the forecast' : 'past years') },
              ]}
            />
            <Reasons view={view} reasons={weather.reasons} title="Where that comes from" />
          </>
        )}
      </>
    ),
  };
}

export const paintPage: Page = { path: '/paint', show };
