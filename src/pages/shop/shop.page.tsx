/** The shop: people, days off, places, paint, keys and devices. */
import type { FC } from 'hono/jsx';
import type { z } from 'zod';
import { at } from '../../engine/look-up.js';
import { CoatingProduct } from '../../finish/finish.shapes.js';
import { AccessKey, DayOff, Person, Place, Shop } from '../../shop/shop.shapes.js';
import { Act, Choice, Fold, MoneyField, QuantityField, Select, Table, TextField, Tick } from '../frame/components.js';
import { inWords, list, plural } from '../frame/format.js';
import type { Page } from '../frame/page.js';
import type { View } from '../frame/view.js';
import { options } from '../frame/words.js';

const placeKinds = { bench: 'Bench', sprayArea: 'Spray area', cureRack: 'Curing rack' } as const;
const shelters = { outdoors: 'outdoors', unheated: 'under a roof', heated: 'heated' } as const;
const dayNames = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'];

type Hours = z.output<typeof Person>['weeklyHours'];

export function hoursInWords(hours: Hours): string {
  const byTime = new Map<string, string[]>();
  for (const one of [...hours].sort((a, b) => a.weekday - b.weekday)) {
    const time = `${one.opens} to ${one.closes}`;
    byTime.set(time, [...(byTime.get(time) ?? []), at(dayNames, one.weekday - 1)]);
  }
  return [...byTime].map(([time, days]) => `${list(days)} ${time}`).join('; ') || 'never';
}

const HoursFields: FC<{ view: View; act: string; hours: Hours }> = ({ view, act, hours }) => (
  <fieldset>
    <legend>Works on</legend>
    <div class="choice">
      {dayNames.map((name, index) => (
        <label>
          <input
            type="checkbox"
            name={`day${index + 1}`}
            value="yes"
            checked={hours.some((one) => one.weekday === index + 1)}
          />{' '}
          {name}
        </label>
      ))}
    </div>
    <TextField view={view} act={act} name="opens" label="From" type="time" value={hours[0]?.opens ?? '09:00'} />
    <TextField view={view} act={act} name="closes" label="To" type="time" value={hours[0]?.closes ?? '17:00'} />
  </fieldset>
);

const People: FC<{ view: View; people: readonly z.output<typeof Person>[]; hours: Hours }> = ({
  view,
  people,
  hours,
}) => (
  <>
    <h2>People</h2>
    <ul class="rows">
      {people.map((person) => (
        <li>
          {person.name}: {hoursInWords(person.weeklyHours)}
          <div class="do">
            {view.device.personId === person.id ? (
              <span>This device is theirs.</span>
            ) : (
              <Act
                view={view}
                act="iAm"
                about={person.id}
                fields={{ person: person.id }}
                label="Uses this device"
                quiet
              />
            )}
            {view.owns ? (
              <Act
                view={view}
                act="personGone"
                about={person.id}
                fields={{ person: person.id }}
                label="Works here no more"
                quiet
              />
            ) : null}
          </div>
        </li>
      ))}
    </ul>
    {view.owns ? (
      <Fold title="Somebody new" open={view.refusal?.act === 'person'}>
        <Act view={view} act="person" label="Note it">
          <TextField view={view} act="person" name="name" label="Name" required max={80} />
          <HoursFields view={view} act="person" hours={hours} />
        </Act>
      </Fold>
    ) : null}
  </>
);

const DaysOff: FC<{
  view: View;
  daysOff: readonly z.output<typeof DayOff>[];
  people: readonly z.output<typeof Person>[];
}> = ({ view, daysOff, people }) => {
  const coming = daysOff.filter((one) => one.endDate >= view.say.today.toString());
  return (
    <>
      <h2>Days off</h2>
      {coming.length === 0 ? <p>None are noted.</p> : null}
      <ul class="rows">
        {coming.map((one) => (
          <li>
            {people.find((person) => person.id === one.personId)?.name ?? 'Everybody'}: {view.say.day(one.startDate)}
            {one.endDate === one.startDate ? '' : ` to ${view.say.day(one.endDate)}`}
            {one.reason ? `, ${one.reason}` : ''}
            {view.owns ? (
              <div class="do">
                <Act view={view} act="dayOn" about={one.id} fields={{ dayOff: one.id }} label="Take back" quiet />
              </div>
            ) : null}
          </li>
        ))}
      </ul>
      {view.owns ? (
        <Fold title="More days off" open={view.refusal?.act === 'dayOff'}>
          <Act view={view} act="dayOff" label="Note it">
            <TextField view={view} act="dayOff" name="from" label="From" type="date" required />
            <TextField view={view} act="dayOff" name="to" label="To, if longer than a day" type="date" />
            <Select
              view={view}
              act="dayOff"
              name="person"
              label="Who"
              none="everybody"
              options={people.map((person) => ({ value: person.id, label: person.name }))}
            />
            <TextField view={view} act="dayOff" name="reason" label="Why" />
          </Act>
        </Fold>
      ) : null}
    </>
  );
};

const Places: FC<{ view: View; places: readonly z.output<typeof Place>[] }> = ({ view, places }) => (
  <>
    <h2>Places</h2>
    <Table
      caption="Benches, spray areas, racks"
      rows={places}
      empty="None are noted."
      columns={[
        { head: 'Place', cell: (place) => place.name },
        { head: 'It is', cell: (place) => placeKinds[place.kind] },
        {
          head: 'Shelter',
          cell: (place) =>
            shelters[place.shelter] +
            (place.heatedToCelsius === null ? '' : ` to ${view.say.show('temperature', place.heatedToCelsius)}`),
        },
        { head: 'Room for', cell: (place) => plural(place.capacity, 'machine') },
      ]}
    />
    {view.owns ? (
      <Fold title="A new place" open={view.refusal?.act === 'place'}>
        <Act view={view} act="place" label="Note it">
          <TextField view={view} act="place" name="name" label="Name" required max={80} />
          <Choice view={view} act="place" name="kind" label="It is" value="bench" options={options(placeKinds)} />
          <Choice view={view} act="place" name="shelter" label="Shelter" value="unheated" options={options(shelters)} />
          <QuantityField view={view} act="place" name="heated" label="If heated, to" quantity="temperature" />
          <TextField
            view={view}
            act="place"
            name="capacity"
            label="Room for how many machines"
            inputmode="numeric"
            value="1"
            max={4}
          />
        </Act>
      </Fold>
    ) : null}
  </>
);

const Devices: FC<{
  view: View;
  keys: readonly z.output<typeof AccessKey>[];
  people: readonly z.output<typeof Person>[];
}> = ({ view, keys, people }) => (
  <>
    <h2>Devices and keys</h2>
    <ul class="rows">
      {keys.map((key) => (
        <li>
          {key.name}, {key.isDevice ? 'a device' : 'a key'} with the rights of{' '}
          {key.role === 'owner' ? 'the owner' : `a ${key.role}`}
          {key.personId ? `, used by ${people.find((person) => person.id === key.personId)?.name ?? 'somebody'}` : ''},
          since {view.say.day(view.say.dateOf(key.createdAt))}
          {key.id === view.device.id ? ' (this one)' : ''}
          {key.id !== view.device.id ? (
            <div class="do">
              <Act view={view} act="revoke" about={key.id} fields={{ device: key.id }} label="Revoke" quiet />
            </div>
          ) : null}
        </li>
      ))}
    </ul>
    <h2 class="name">Sign another device in</h2>
    <form method="post" action={view.to('/link')}>
      <input type="hidden" name="token" value={view.formToken} />
      <TextField view={view} act="link" name="name" label="What to call it" required max={80} value="Phone" />
      <Choice
        view={view}
        act="link"
        name="role"
        label="With the rights of"
        value="helper"
        options={options({
          owner: 'the owner',
          helper: 'a helper, who sees no price',
          reader: 'a reader, who changes nothing',
        })}
      />
      <Select
        view={view}
        act="link"
        name="person"
        label="Who works with it"
        none="they say it themselves"
        options={people.map((person) => ({ value: person.id, label: person.name }))}
      />
      <button>Show a code for it</button>
    </form>
  </>
);

const Settings: FC<{ view: View; shop: z.output<typeof Shop> }> = ({ view, shop }) => {
  const act = 'settings';
  const imperial = view.shop.unitSystem === 'imperial';
  const haul = imperial ? (Number(shop.haulCostPerKilometre) * 1.609344).toFixed(2) : shop.haulCostPerKilometre;
  return (
    <Fold title="Name, rates, hours, units" open={view.refusal?.act === act}>
      <Act view={view} act={act} fields={{ version: shop.version }} label="Note it">
        <TextField view={view} act={act} name="name" label="Name" required value={shop.name} />
        <Choice
          view={view}
          act={act}
          name="units"
          label="Units"
          value={shop.unitSystem}
          options={options({ metric: 'mm, °C, litres', imperial: 'inches, °F, pints' })}
        />
        <MoneyField view={view} act={act} name="hour" label="An hour of work is worth" value={shop.hourlyValue} />
        <MoneyField
          view={view}
          act={act}
          name="space"
          label="A machine’s space costs a day"
          value={shop.spaceCostPerDay}
        />
        <MoneyField
          view={view}
          act={act}
          name="haul"
          label={`Fetching costs a ${imperial ? 'mile' : 'kilometre'}`}
          value={haul}
        />
        <HoursFields view={view} act={act} hours={shop.openingHours} />
      </Act>
    </Fold>
  );
};

const Forecast: FC<{ view: View }> = ({ view }) => (
  <Fold title="Enter a weather forecast" open={view.refusal?.act === 'forecast'}>
    <Act view={view} act="forecast" label="Note it">
      <TextField
        view={view}
        act="forecast"
        name="day"
        label="Day"
        type="date"
        required
        value={view.say.today.toString()}
      />
      <QuantityField view={view} act="forecast" name="high" label="Warmest" quantity="temperature" />
      <QuantityField view={view} act="forecast" name="low" label="Coldest" quantity="temperature" />
      <TextField
        view={view}
        act="forecast"
        name="humidity"
        label="Humidity"
        hint="in percent"
        inputmode="decimal"
        max={5}
      />
      <Tick view={view} act="forecast" name="rain" label="Rain or snow" />
    </Act>
  </Fold>
);

async function show(view: View) {
  // Its rates are prices.
  const shop = view.may('shop') ? await view.read('shop', Shop) : null;
  const people = (await view.list('people', Person)).items;
  const daysOff = (await view.list('daysOff', DayOff)).items;
  const places = (await view.list('places', Place)).items;
  const products = (await view.list('coatingProducts', CoatingProduct)).items;
  const keys = view.owns ? (await view.list('accessKeys', AccessKey)).items : [];
  return {
    title: 'The shop',
    answer:
      `${view.shop.name}: ${inWords(people.length)} ` +
      `${people.length === 1 ? 'person' : 'people'}${shop ? `, open ${hoursInWords(shop.openingHours)}` : ''}.`,
    priced: view.owns,
    rest: (
      <>
        <People view={view} people={people} hours={shop?.openingHours ?? []} />
        <DaysOff view={view} daysOff={daysOff} people={people} />
        <Places view={view} places={places} />
        {view.writes ? <Forecast view={view} /> : null}
        {products.length > 0 ? (
          <Fold title="Paint">
            <Table
              caption="Cans the shop uses"
              rows={products}
              columns={[
                { head: 'Can', cell: (one) => one.name },
                { head: 'From', cell: (one) => view.say.show('temperature', one.minCelsius) },
                { head: 'Assemble after', cell: (one) => view.say.wait(one.assembleMinutes) },
                { head: 'Film', cell: (one) => view.say.show('film', one.dryFilmMicrometres) },
              ]}
            />
          </Fold>
        ) : null}
        {view.owns && shop ? <Settings view={view} shop={shop} /> : null}
        {view.owns ? <Devices view={view} keys={keys} people={people} /> : null}
        <h2>Everything else</h2>
        <ul class="links">
          <li>
            <a href="/docs">Import, export and all operations, for programs</a>
          </li>
        </ul>
        <p class="soft">
          A backup is made at the machine the service runs on: <code>npm run backup -- shop.backup</code>
        </p>
        <form method="post" action={view.to('/sign-out')}>
          <input type="hidden" name="token" value={view.formToken} />
          <button class="quiet" data-signout="ask">
            Sign this device out
          </button>
        </form>
      </>
    ),
  };
}

export const shopPage: Page = { path: '/shop', show };
