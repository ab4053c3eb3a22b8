/** What is changed about the shop itself. */
import { everyone, ownerOnly, workers } from '../../platform/operation/operation.js';
import { WeatherForecast } from '../../season/stations/stations.shapes.js';
import { AccessKey, DayOff, Person, Place, Shop } from '../../shop/shop.shapes.js';
import { Stock } from '../../stock/stock.shapes.js';
import type { Form } from '../frame/form.js';
import type { ActDeclared, ActResult } from '../frame/page.js';

const iAm: ActDeclared = {
  name: 'iAm',
  roles: everyone,
  async take(view, form): Promise<ActResult> {
    const personId = form.needed('person', 'who you are');
    form.check();
    const person = await view.read('person', Person, { id: personId });
    await view.act('assignDevice', AccessKey, { personId });
    return { said: `${person.name} works with this device now.` };
  },
};

const revoke: ActDeclared = {
  name: 'revoke',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('device', 'which device');
    form.check();
    const { version, name } = await view.read('accessKey', AccessKey, { id });
    await view.act('archiveAccessKey', AccessKey, { id, version });
    return { said: `${name} opens nothing any more.` };
  },
};

const weekdays = [1, 2, 3, 4, 5, 6, 7];
/** Hours from and to on the weekdays that are ticked. */
function hoursOf(form: Form) {
  const opens = form.text('opens') ?? '09:00';
  const closes = form.text('closes') ?? '17:00';
  return weekdays.filter((weekday) => form.has(`day${weekday}`)).map((weekday) => ({ weekday, opens, closes }));
}

const person: ActDeclared = {
  name: 'person',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const name = form.needed('name', 'the name');
    const weeklyHours = hoursOf(form);
    form.check();
    const made = await view.act('createPerson', Person, { name, weeklyHours });
    return { said: `${made.name} is noted.` };
  },
};

const personGone: ActDeclared = {
  name: 'personGone',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('person', 'who');
    form.check();
    const { version, name } = await view.read('person', Person, { id });
    await view.act('archivePerson', Person, { id, version });
    return { said: `${name} works here no more; what was done stays on record.` };
  },
};

const dayOff: ActDeclared = {
  name: 'dayOff',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const startDate = form.date('from');
    if (!startDate) form.fault('from', 'Say from which day.');
    const endDate = form.date('to') ?? startDate;
    const personId = form.text('person');
    form.check();
    const made = await view.act('createDayOff', DayOff, { personId, startDate, endDate, reason: form.text('reason') });
    return {
      said: 'The days off are noted; the plan follows.',
      undo: { act: 'dayOn', fields: { dayOff: made.id }, says: 'The days off are taken back.' },
    };
  },
};

const dayOn: ActDeclared = {
  name: 'dayOn',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('dayOff', 'which days');
    form.check();
    await view.act('deleteDayOff', DayOff, { id });
    return { said: 'Taken back: those are working days again.' };
  },
};

const place: ActDeclared = {
  name: 'place',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const name = form.needed('name', 'what it is called');
    const kind = form.oneOf('kind', ['bench', 'sprayArea', 'cureRack']);
    const shelter = form.oneOf('shelter', ['outdoors', 'unheated', 'heated'], 'unheated');
    const heatedToCelsius = form.quantity('heated', 'temperature');
    const capacity = form.whole('capacity') ?? 1;
    if (shelter === 'heated' && heatedToCelsius === null) form.fault('heated', 'Say how warm it is kept.');
    form.check();
    const made = await view.act('createPlace', Place, {
      name,
      kind,
      shelter,
      capacity,
      ...(shelter === 'heated' ? { heatedToCelsius } : {}),
    });
    return { said: `${made.name} is noted.` };
  },
};

const settings: ActDeclared = {
  name: 'settings',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const version = form.whole('version');
    const haul = form.money('haul');
    const perKilometre =
      haul === null ? null : view.shop.unitSystem === 'imperial' ? (Number(haul) / 1.609344).toFixed(4) : haul;
    const changes = {
      name: form.needed('name', 'the name'),
      unitSystem: form.oneOf('units', ['metric', 'imperial'], view.shop.unitSystem),
      hourlyValue: form.money('hour'),
      spaceCostPerDay: form.money('space'),
      haulCostPerKilometre: perKilometre,
    };
    const hours = hoursOf(form);
    form.check();
    await view.act('changeShop', Shop, {
      version,
      ...Object.fromEntries(Object.entries(changes).filter(([, value]) => value !== null)),
      ...(hours.length > 0 ? { openingHours: hours } : {}),
    });
    return { said: 'The shop is noted so.' };
  },
};

const forecast: ActDeclared = {
  name: 'forecast',
  roles: workers,
  async take(view, form): Promise<ActResult> {
    const day = form.dateNeeded('day', 'which day');
    const highCelsius = form.quantityNeeded('high', 'temperature', 'how warm it gets');
    const lowCelsius = form.quantityNeeded('low', 'temperature', 'how cold it gets');
    const humidityPercent = form.number('humidity');
    form.check();
    await view.act('recordWeatherForecast', WeatherForecast, {
      days: [
        {
          day,
          highCelsius,
          lowCelsius,
          ...(humidityPercent === null ? {} : { humidityPercent }),
          precipitationMillimetres: form.has('rain') ? 5 : 0,
        },
      ],
    });
    return { said: `The forecast for ${view.say.day(day)} is noted.` };
  },
};

const counted: ActDeclared = {
  name: 'counted',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('stock', 'which bin');
    const version = form.whole('version');
    const quantity = form.number('quantity');
    if (quantity === null) form.fault('quantity', 'Say how many there are.');
    form.check();
    const stock = await view.act('countStock', Stock, { id, version, quantity });
    return { said: `${stock.bin}: ${view.say.quantity(stock.quantity)} counted.` };
  },
};

export const shopActs: readonly ActDeclared[] = [
  iAm,
  revoke,
  person,
  personGone,
  dayOff,
  dayOn,
  place,
  settings,
  forecast,
  counted,
];
