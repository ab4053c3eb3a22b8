/** The demo's machines on the day it is loaded: one or more in every stage. */
import { lookUp } from '../src/engine/look-up.js';
import type { DemoShop } from './demo-shop.js';
import { openDemoJob, orderParts, passSafetyChecks, takeMachine, useParts, workOn } from './demo-work.js';
import type { LoadedRecord, Loader } from './loader.js';

export interface DemoRoutes {
  singleStageThrower: string;
  twoStageThrower: string;
  walkBehindMower: string;
}

const single = (maker: string, model: string, more: object = {}) => ({
  kind: 'singleStageThrower',
  maker,
  model,
  clearingWidthMillimetres: 533,
  valueAsFound: '60.00',
  ...more,
});
const twoStage = (maker: string, model: string, more: object = {}) => ({
  kind: 'twoStageThrower',
  maker,
  model,
  clearingWidthMillimetres: 610,
  valueAsFound: '140.00',
  ...more,
});

export async function loadOpenJobs(load: Loader, shop: DemoShop, routes: DemoRoutes): Promise<void> {
  const finding = (machineId: string, component: string, observation: string, verdict: string, more: object = {}) =>
    load.do('createFinding', { machineId, component, observation, verdict, ...more });

  // Offered: finished a week ago, safety checks passed.
  const offered = await takeMachine(load, {
    machine: single('Norvane', 'Drift 21', { condition: 3, yearEstimate: 1994, engine: 'two-stroke, 3 hp' }),
    source: 'classified',
    price: '70.00',
    haulKilometres: 22,
    acquiredDaysAgo: 74,
    seller: 'A archived teacher',
    claims: 'Ran last winter.',
  });
  {
    const { job, tasks } = await openDemoJob(load, offered, routes.singleStageThrower, 73);
    const worn = await finding(offered.id, 'Paddles', 'Worn to the wear mark', 'replace', {
      measuredValue: 4,
      limitLow: 6,
      unit: 'mm',
      foundDate: load.day(70),
    });
    const { arrivesDaysAgo } = await orderParts(
      load,
      shop,
      [{ part: 'paddles', quantity: 1, taskId: lookUp(tasks, 'paddles').id, meets: worn }],
      69,
      9,
      8,
    );
    await workOn(load, tasks, 'safety', load.day(72), new Map([['paddles', load.day(arrivesDaysAgo)]]));
    await useParts(load, job.id, load.day(40));
    await load.do(
      'createLedgerEntry',
      { jobId: job.id, kind: 'consumable', amount: '31.00', description: 'Paint and abrasives' },
      load.day(60),
    );
    await passSafetyChecks(load, job.id, 'singleStageThrower', load.day(8));
    await load.do('createOffer', { jobId: job.id, askPrice: '449.00', channel: 'classifieds' }, load.day(7));
  }

  // Finished, safety checks half made: it may not be offered yet.
  const finished = await takeMachine(load, {
    machine: single('Pikestone', 'Gale 20', { condition: 3, engine: 'four-stroke, 5 hp' }),
    source: 'auction',
    price: '45.00',
    haulKilometres: 35,
    acquiredDaysAgo: 66,
  });
  {
    const { job, tasks } = await openDemoJob(load, finished, routes.singleStageThrower, 65);
    await workOn(load, tasks, 'safety', load.day(64));
    await load.do(
      'createSafetyCheck',
      { jobId: job.id, check: 'operatorPresence', passed: true, checkedBy: 'Mira Aldane' },
      load.day(2),
    );
    await load.do(
      'createSafetyCheck',
      {
        jobId: job.id,
        check: 'noFuelLeak',
        passed: false,
        checkedBy: 'Mira Aldane',
        note: 'Sweats at the tank cap; new gasket.',
      },
      load.day(2),
    );
  }

  // Painted and cured, and held up by three bolts: promised, slipped, then no date at all.
  const backOrdered = await takeMachine(load, {
    machine: single('Norvane', 'Drift 21 E', {
      condition: 2,
      equipment: [{ name: 'Electric starter', status: 'fitted' }],
    }),
    source: 'classified',
    price: '20.00',
    haulKilometres: 12,
    acquiredDaysAgo: 52,
    seller: 'A neighbour',
  });
  {
    const { tasks } = await openDemoJob(load, backOrdered, routes.singleStageThrower, 51);
    const burnt = await finding(backOrdered.id, 'Electric starter', 'Smells burnt, draws smoke', 'remove', {
      reason: 'The recoil starter serves; a burnt starter is not put back into service.',
      foundDate: load.day(50),
    });
    await load.do(
      'changeEquipment',
      {
        id: backOrdered.id,
        name: 'Electric starter',
        change: 'remove',
        reason: 'Burnt out; taken off rather than replaced.',
        findingId: burnt.id,
      },
      load.day(50),
    );
    const { lines } = await orderParts(
      load,
      shop,
      [{ part: 'scraperBolt', quantity: 3, taskId: lookUp(tasks, 'scraper-bar').id }],
      30,
      1000,
      6,
    );
    await workOn(load, tasks, 'cure', load.day(50));
    await load.do(
      'recordPromise',
      { id: lines[0].id, promisedDate: load.day(14), note: 'Batch delayed.' },
      load.day(23),
    );
    await load.do('recordPromise', { id: lines[0].id, promisedDate: null, note: 'No date; being made.' }, load.day(6));
  }

  // Curing on the rack.
  const curing = await takeMachine(load, {
    machine: twoStage('Hallgrim', 'Boreal 24', { condition: 2, engine: 'four-stroke, 8 hp' }),
    source: 'classified',
    price: '180.00',
    haulKilometres: 64,
    acquiredDaysAgo: 24,
    claims: 'Needs a carburettor.',
  });
  {
    const { job, tasks } = await openDemoJob(load, curing, routes.twoStageThrower, 23);
    const common = await finding(curing.id, 'Shear bolts', 'Two of four are common bolts', 'replace', {
      reason: "Only the maker's own shear bolt breaks where it should.",
      foundDate: load.day(20),
    });
    await orderParts(
      load,
      shop,
      [{ part: 'shearBolt', quantity: 4, taskId: lookUp(tasks, 'augers').id, meets: common }],
      18,
      11,
      9,
    );
    const at = await workOn(load, tasks, 'clear', load.day(21));
    if (at) await recordCoats(load, shop, job.id, at);
  }

  // Primed; the colour waits for its window and for weather.
  const painting = await takeMachine(load, {
    machine: single('Pikestone', 'Gale 20 S', { condition: 2 }),
    source: 'classified',
    price: '35.00',
    haulKilometres: 18,
    acquiredDaysAgo: 12,
  });
  {
    const { tasks } = await openDemoJob(load, painting, routes.singleStageThrower, 11, { promisedDate: load.day(-52) });
    await workOn(load, tasks, 'prime-2', load.day(9));
  }

  // In work: stripped.
  const stripped = await takeMachine(load, {
    machine: twoStage('Norvane', 'Ridge 26', { condition: 2 }),
    source: 'dealer',
    price: '150.00',
    haulKilometres: 41,
    acquiredDaysAgo: 9,
  });
  {
    const { job, tasks } = await openDemoJob(load, stripped, routes.twoStageThrower, 8);
    await workOn(load, tasks, 'strip', load.day(6));
    // What the strip turned up: two agreed on, one still to be decided.
    const by = { foundDate: load.day(5), foundBy: 'Mira Aldane' };
    const seam = await finding(stripped.id, 'Auger housing', 'Seam open along the left side plate', 'repair', {
      ...by,
      rustGrade: 3,
      reason: 'Sound metal two fingers from the seam: a patch holds.',
    });
    const bearing = await finding(stripped.id, 'Auger bearing', 'Oval, the shaft knocks', 'replace', {
      ...by,
      position: 'left',
      measuredValue: 19.8,
      newSize: 19.05,
      limitHigh: 19.3,
      unit: 'mm',
    });
    await load.do(
      'decideProposals',
      {
        id: job.id,
        decisions: [
          { findingId: seam.id, decision: 'accept' },
          { findingId: bearing.id, decision: 'accept', partId: shop.parts.bushing, quantity: 1 },
        ],
      },
      load.day(5),
    );
    await finding(stripped.id, 'Chute crank', 'Bent, rubs on the belt cover', 'repair', by);
    await orderParts(
      load,
      shop,
      [
        { part: 'belt', quantity: 1, taskId: lookUp(tasks, 'assemble').id },
        { part: 'muffler', quantity: 1, taskId: lookUp(tasks, 'engine').id },
      ],
      4,
      1000,
      9,
    );
  }

  // A mower with its deck on the rack's last day.
  const mower = await takeMachine(load, {
    machine: { kind: 'walkBehindMower', maker: 'Hallgrim', model: 'Meadow 21', condition: 2, valueAsFound: '25.00' },
    source: 'donation',
    price: '0.00',
    haulKilometres: 6,
    acquiredDaysAgo: 30,
  });
  {
    const { tasks } = await openDemoJob(load, mower, routes.walkBehindMower, 29);
    await workOn(load, tasks, 'cure', load.day(28));
  }

  // Diagnosed, nothing begun: a keeper for the shop's own lane.
  const keeper = await takeMachine(load, {
    machine: twoStage('Pikestone', 'Tundra 28', { disposition: 'keep', condition: 3, engine: 'four-stroke, 10 hp' }),
    source: 'tradeIn',
    price: '90.00',
    haulKilometres: 0,
    acquiredDaysAgo: 16,
  });
  await openDemoJob(load, keeper, routes.twoStageThrower, 15, { title: 'Pikestone Tundra 28 (ours)', priority: -5 });
  await finding(keeper.id, 'Auger gearbox', 'Play at the input shaft', 'serveOn', {
    measuredValue: 0.3,
    limitHigh: 0.5,
    unit: 'mm',
  });

  // Finished last month and kept: the shop's own.
  const kept = await takeMachine(load, {
    machine: single('Pikestone', 'Gale 20', { disposition: 'keep', condition: 4 }),
    source: 'tradeIn',
    price: '40.00',
    haulKilometres: 5,
    acquiredDaysAgo: 95,
  });
  {
    const { job, tasks } = await openDemoJob(load, kept, routes.singleStageThrower, 94);
    await workOn(load, tasks, 'safety', load.day(93));
    const { version } = await load.do('job', { id: job.id });
    await load.do('closeJob', { id: job.id, version, outcome: 'kept', closedDate: load.day(30) }, load.day(30));
  }

  // A lot of three at one price: one to sell, one donor, one that turned out to be scrap.
  await loadLot(load, shop, routes);

  // Bought this morning.
  await load.do('recordIntake', {
    source: 'classified',
    acquiredDate: load.today,
    price: '25.00',
    haulKilometres: 9,
    seller: 'A house clearance',
    sellerClaims: 'Starts, then dies.',
    machines: [
      {
        ...single('Norvane', 'Drift 18', { condition: 2 }),
        findings: [{ component: 'Carburettor', observation: 'Varnished bowl', verdict: 'repair' }],
      },
    ],
  });
  // Brought round by somebody; not looked at yet.
  const unseen = await takeMachine(load, {
    machine: single('Hallgrim', 'Flurry 20'),
    source: 'donation',
    price: '0.00',
    haulKilometres: 0,
    acquiredDaysAgo: 1,
  });
  await openDemoJob(load, unseen, routes.singleStageThrower, 1);

  await loadOtherScopes(load, shop, routes, finding);
}

/** Jobs that go less far than the route: one mended with its paint as it is, one sold as it was found. */
async function loadOtherScopes(
  load: Loader,
  shop: DemoShop,
  routes: DemoRoutes,
  finding: (
    machineId: string,
    component: string,
    observation: string,
    verdict: string,
    more?: object,
  ) => Promise<LoadedRecord>,
): Promise<void> {
  const mended = await takeMachine(load, {
    machine: single('Hallgrim', 'Flurry 22', { condition: 3, engine: 'four-stroke, 4 hp', yearEstimate: 2015 }),
    source: 'classified',
    price: '55.00',
    haulKilometres: 16,
    acquiredDaysAgo: 6,
    claims: 'Throws well, belt squeals.',
  });
  {
    const { job, tasks } = await openDemoJob(load, mended, routes.singleStageThrower, 5);
    await load.do('chooseScope', { id: job.id, scope: 'mechanical', reason: 'The paint is sound.' }, load.day(5));
    await workOn(
      load,
      new Map([...tasks].filter(([code]) => code === 'wash' || code === 'diagnose')),
      'diagnose',
      load.day(4),
    );
    const belt = await finding(mended.id, 'Belt', 'Glazed and cracked', 'replace', { foundDate: load.day(3) });
    await finding(mended.id, 'Scraper bar', 'Worn, still straight', 'serveOn', {
      measuredValue: 8.5,
      newSize: 12,
      limitLow: 6,
      unit: 'mm',
      foundDate: load.day(3),
    });
    await load.do(
      'decideProposals',
      { id: job.id, decisions: [{ findingId: belt.id, decision: 'accept', partId: shop.parts.belt }] },
      load.day(3),
    );
  }

  const seized = await takeMachine(load, {
    machine: twoStage('Pikestone', 'Tundra 24', { condition: 2, engine: 'four-stroke, 8 hp' }),
    source: 'auction',
    price: '80.00',
    haulKilometres: 30,
    acquiredDaysAgo: 26,
  });
  const { job } = await openDemoJob(load, seized, routes.twoStageThrower, 25);
  await finding(seized.id, 'Engine', 'Seized; metal in the oil', 'replace', { foundDate: load.day(24) });
  await load.do(
    'chooseScope',
    {
      id: job.id,
      scope: 'sellAsFound',
      reason: 'An engine costs more than it would bring.',
      asFound: {
        recordedBy: 'Mira Aldane',
        fuelDrained: true,
        plugWireOff: true,
        note: 'The engine does not turn. Housing, augers and drive look sound and were not tried.',
      },
    },
    load.day(22),
  );
  await load.do('createOffer', { jobId: job.id, askPrice: '240.00', channel: 'classifieds' }, load.day(21));
  await load.do(
    'createSale',
    { jobId: job.id, price: '210.00', soldDate: load.day(9), buyer: 'Somebody with an engine' },
    load.day(9),
  );
}

async function recordCoats(load: Loader, shop: DemoShop, jobId: string, last: Date): Promise<void> {
  const can = [shop.coats.primer, shop.coats.primer, shop.coats.colour, shop.coats.colour, shop.coats.clear];
  for (const [index, productId] of can.entries()) {
    const appliedAt = new Date(last.getTime() - (can.length - 1 - index) * 50 * 60_000);
    await load.do(
      'createCoat',
      {
        jobId,
        productId,
        placeId: shop.places.rack,
        surface: 'auger housing',
        appliedAt: appliedAt.toISOString(),
        airCelsius: 21,
        humidityPercent: 60,
      },
      appliedAt,
    );
  }
}

async function loadLot(load: Loader, shop: DemoShop, routes: DemoRoutes): Promise<void> {
  const on = load.day(40);
  const lot = await load.do(
    'createAcquisition',
    {
      source: 'auction',
      acquiredDate: on,
      price: '160.00',
      haulKilometres: 80,
      seller: 'Estate auction',
      sellerClaims: 'Three throwers, as they stand.',
    },
    on,
  );
  const add = (machine: object) => load.do('createMachine', { ...machine, acquisitionId: lot.id }, on);
  const good = await add(single('Norvane', 'Drift 21', { condition: 2, valueAsFound: '70.00' }));
  const donor = await add(single('Norvane', 'Drift 21', { condition: 1, disposition: 'donor', valueAsFound: '40.00' }));
  const scrap = await add(twoStage('Hallgrim', 'Boreal 22', { condition: 1, valueAsFound: '30.00' }));
  const { tasks } = await openDemoJob(load, good, routes.singleStageThrower, 38);
  await load.do(
    'createHarvest',
    {
      machineId: donor.id,
      restValue: '10.00',
      parts: [
        { partId: shop.parts.muffler, quantity: 1, unitValue: '12.00', bin: 'B3', condition: 'sound' },
        { partId: shop.parts.scraperBar, quantity: 1, unitValue: '10.00', bin: 'B4', condition: 'straight, some rust' },
        { partId: shop.parts.bushing, quantity: 2, unitValue: '3.00', bin: 'B5' },
      ],
    },
    load.day(36),
  );
  await workOn(load, tasks, 'derust', load.day(34));
  const { job } = await openDemoJob(load, scrap, routes.twoStageThrower, 37);
  await load.do(
    'createFinding',
    {
      machineId: scrap.id,
      component: 'Auger housing',
      observation: 'Rusted through along the seam',
      verdict: 'remove',
      reason: 'Rust in the seam ends the machine.',
    },
    load.day(33),
  );
  await load.do(
    'closeJob',
    { id: job.id, version: job.version, outcome: 'scrapped', closedDate: load.day(32) },
    load.day(32),
  );
  await load.do(
    'changeMachine',
    { id: scrap.id, version: (await load.do('machine', { id: scrap.id })).version, disposition: 'scrap' },
    load.day(32),
  );
}
