/** What was found, decided by thumb, and how far a job goes: the pages as they come and the forms they hold. */
import { afterAll, beforeAll, expect, it } from '@jest/globals';
import request from 'supertest';
import { shopCode } from '../src/platform/access/shop-code.js';
import { type Json, startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let base: string;
let job: Json;
let machine: Json;
const http = () => request(shop.app.getHttpServer());
const post = async (path: string, body: Json): Promise<Json> =>
  (await shop.rest('owner', 'post', path, body).expect(201)).body;

beforeAll(async () => {
  shop = await startTestShop();
  base = `/shop/${shopCode(shop.shopId)}`;
  await post('/people', { name: 'Ola', weeklyHours: [] });
  machine = await post('/machines', { kind: 'twoStageThrower', maker: 'Norvane', model: 'Ridge 24' });
  const route = await post('/routes', {
    name: 'Short',
    machineKind: 'twoStageThrower',
    tasks: [
      ['wash', 'clean'],
      ['prime', 'prime'],
      ['test-run', 'test'],
    ].map(([code, kind]) => ({
      code,
      name: code,
      kind,
      minMinutes: 30,
      handsOnMinutes: 60,
      maxMinutes: 90,
      after: [],
    })),
  });
  job = await post('/jobs', { machineId: machine.id, routeId: route.id });
}, 120_000);
afterAll(() => shop.close());

async function device(role: 'owner' | 'helper') {
  const reply = await http()
    .post('/shop/sign-in')
    .type('form')
    .send({ key: shop.keys[role], name: 'Bench phone' })
    .expect(303);
  const cookie = (reply.headers['set-cookie'] as unknown as string[])[0]!.split(';')[0]!;
  const page = async (path: string): Promise<string> =>
    (await http().get(`${base}${path}`).set('Cookie', cookie).expect(200)).text;
  /** Sends the form of an act that a page holds, with what it brings along, as a tap does. @param from a path, or the page itself */
  const tap = async (from: string, act: string, fields: Record<string, string> = {}, about = '', status = 303) => {
    const forms = (from.startsWith('/') ? await page(from) : from).split('<form').slice(1);
    const found = forms.find(
      (one) => one.includes(`/do/${act}"`) && (about === '' || one.includes(`name="about" value="${about}"`)),
    );
    if (!found) throw new Error(`There is no form ${act} ${about}`);
    const hidden = Object.fromEntries(
      [...found.split('</form>')[0]!.matchAll(/type="hidden" name="([^"]+)" value="([^"]*)"/g)].map((one) => [
        one[1]!,
        one[2]!,
      ]),
    );
    return http()
      .post(`${base}/do/${act}`)
      .set('Cookie', cookie)
      .type('form')
      .send({ ...hidden, ...fields })
      .expect(status);
  };
  return { page, tap };
}

it('is noted with its component, decided on, tried out and taken back by thumb, by a helper without prices', async () => {
  const { page, tap } = await device('helper');
  const here = `/machine/${job.number}`;
  const form = await page(`${here}/found`);
  expect(form).toContain('<option value="Auger gearbox">');
  expect(form).toContain('Scale comes off in flakes');
  for (const component of ['Auger belt', 'Drive belt'])
    await tap(`${here}/found`, 'found', { component, observation: 'Cracked', verdict: 'replace', rust: '1' });
  const shown = await page(here);
  expect(shown).toContain('2 things to decide');
  expect(shown).toMatch(/to get at it \(belt cover, chute crank, auger housing from the tractor\)/);
  const tried = await page(`${here}/work`);
  expect(tried).toContain('Replace the auger belt');
  expect(tried).not.toContain('Cost in the end');
  expect(await shop.within((context) => context.tx.taskFinding.count())).toBe(0);
  await tap(here, 'decide', {}, 'all');
  const after = await page(here);
  expect(after).toContain('Will be done');
  expect(after).toContain('Take off: belt cover, chute crank');
  const [finding] = await shop.within((context) => context.tx.finding.findMany({ orderBy: { id: 'asc' } }));
  expect(finding).toMatchObject({
    componentCode: 'auger-belt',
    decision: 'accepted',
    rustGrade: 1,
    foundBy: 'Ola',
  });
  await tap(here, 'undecide', {}, finding!.id);
  expect(await page(here)).toContain('Do it');
}, 60_000);

it('how far a job goes is shown with what each leaves, chosen, and recorded as found; tasks are left out and taken in', async () => {
  const { page, tap } = await device('owner');
  const here = `/machine/${job.number}`;
  await tap(here, 'skip', { reason: 'Clean as it is' });
  const scope = await page(`${here}/scope`);
  for (const words of [
    'Clean as it is',
    'full restoration (chosen)',
    'mechanical, no paint',
    'sell as found',
    'strip for parts',
  ])
    expect(scope).toContain(words);
  const sends = (act: string, fields: Record<string, string> = {}, about = '') => tap(scope, act, fields, about);
  await sends('unskip');
  await sends('scope', { reason: 'Sound paint' }, 'mechanical');
  expect(await page(here)).toContain('mechanical, no paint');
  await sends('equipment', { name: 'Headlight', reason: 'Broken' });
  expect(await page(here)).toContain('without headlight');
  await sends('scope', {}, 'sellAsFound');
  const asFound = await page(`${here}/scope`);
  await tap(asFound, 'asFound', { fuelDrained: 'yes' }, '', 422);
  await tap(asFound, 'asFound', { fuelDrained: 'yes', plugWireOff: 'yes', note: 'Engine stuck' });
  expect(await page(here)).toContain('To be sold as found, not safe to run');
  expect(await page(`${here}/papers`)).toContain('not safe to run');
  await sends('scope', {}, 'stripForParts');
  expect(await page(here)).toContain('A donor: what others need comes off it.');
}, 240_000);
