/**
 * Who comes in to the pages, and what a form must bring along. Cookies: RFC 6265bis (HttpOnly, SameSite, Path, Secure);
 * Origin and Sec-Fetch-Site: Fetch standard and Fetch Metadata.
 */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import request from 'supertest';
import { LINK_MINUTES, makeSignInLink } from '../src/pages/access/sign-in-links.js';
import { shopCode } from '../src/platform/access/shop-code.js';
import { startTestShop, type TestShop } from './harness/server.js';

let shop: TestShop;
let code: string;
beforeAll(async () => {
  shop = await startTestShop();
  code = shopCode(shop.shopId);
});
afterAll(() => shop.close());

const http = () => request(shop.app.getHttpServer());
const form = (path: string, fields: Record<string, string>) => http().post(path).type('form').send(fields);
const cookiesOf = (reply: request.Response): string[] => (reply.headers['set-cookie'] as unknown as string[]) ?? [];
const cookieOf = (reply: request.Response): string => cookiesOf(reply)[0]!.split(';')[0]!;

async function signIn(role: 'owner' | 'helper' | 'reader' = 'owner'): Promise<string> {
  return cookieOf(await form('/shop/sign-in', { key: shop.keys[role], name: 'Bench phone' }).expect(303));
}
const page = (cookie: string, path = '') => http().get(`/shop/${code}${path}`).set('Cookie', cookie);
async function tokenOf(cookie: string): Promise<string> {
  return /name="token" value="([^"]+)"/.exec((await page(cookie, '/shop')).text)![1]!;
}
const linkFor = (name = 'Phone') =>
  makeSignInLink(
    shop.database,
    shop.shopId,
    { role: 'helper', name, personId: null, createdById: randomUUID() },
    shop.clock.now,
  );

describe('a key typed', () => {
  it('gives a cookie that scripts cannot read and other sites cannot send, of the page paths of one shop only', async () => {
    const reply = await form('/shop/sign-in', { key: shop.keys.owner, name: 'Bench phone' }).expect(303);
    expect(reply.headers.location).toBe(`/shop/${code}`);
    const [session, last] = cookiesOf(reply);
    expect(session).toMatch(new RegExp(`^frostwright-\\d+-${code}=`));
    expect(session).toContain(`Path=/shop/${code};`);
    for (const cookie of [session, last]) expect(cookie).toMatch(/HttpOnly; SameSite=Strict/);
    expect(last).not.toContain(shop.keys.owner);
    expect(session).not.toContain(shop.keys.owner.slice(-32));
    await page(cookieOf(reply)).expect(200);
  });

  it('that is wrong opens nothing, and neither does none', async () => {
    await form('/shop/sign-in', { key: `fw_${'0'.repeat(12)}_${'a'.repeat(32)}`, name: 'x' }).expect(401);
    await form('/shop/sign-in', { key: 'nonsense', name: 'x' }).expect(401);
    await http().get(`/shop/${code}`).expect(401);
    await http().get('/shop/00000000').expect(401);
  });

  it('is no device’s key, and a device’s key is none of the API’s', async () => {
    const value = (await signIn()).split('=')[1]!;
    await http().get('/v1/shop').set('Authorization', `Bearer ${value}`).expect(401);
    await form('/shop/sign-in', { key: value, name: 'copy' }).expect(401);
  });

  it('from another site’s form is refused', async () => {
    const send = () => form('/shop/sign-in', { key: shop.keys.owner, name: 'x' });
    await send().set('Origin', 'https://elsewhere.example').expect(403);
    await send().set('Sec-Fetch-Site', 'cross-site').expect(403);
  });
});

describe('a link', () => {
  it('is used up by a press and not by being opened', async () => {
    const token = await linkFor();
    for (let opened = 0; opened < 3; opened += 1) {
      const shown = await http().get('/shop/sign-in').query({ link: token }).expect(200);
      expect(shown.text).toContain('Sign this device in');
      // No other site is told the address; none at all would have a browser send the form without its origin.
      expect(shown.headers['referrer-policy']).toBe('same-origin');
    }
    const pressed = await form('/shop/sign-in', { link: token }).expect(303);
    expect((await page(cookieOf(pressed)).expect(200)).text).toContain('as helper');
    await form('/shop/sign-in', { link: token }).expect(410);
    await http().get('/shop/sign-in').query({ link: token }).expect(410);
  });

  it('pressed twice at once signs one device in', async () => {
    const token = await linkFor();
    const replies = await Promise.all([1, 2, 3, 4].map(() => form('/shop/sign-in', { link: token })));
    expect(replies.map((reply) => reply.status).sort()).toEqual([303, 410, 410, 410]);
  });

  it('ends after ten minutes, and a changed one never began', async () => {
    const token = await linkFor();
    const before = shop.clock.now;
    shop.clock.now = new Date(before.getTime() + LINK_MINUTES * 60_000);
    await form('/shop/sign-in', { link: token }).expect(410);
    shop.clock.now = before;
    const changed = Buffer.from(token, 'base64url');
    changed[50]! ^= 1;
    await form('/shop/sign-in', { link: changed.toString('base64url') }).expect(410);
    await form('/shop/sign-in', { link: 'short' }).expect(410);
  });

  it('is made by the owner only, and is stored as a digest', async () => {
    const owner = await signIn('owner');
    const fields = { token: await tokenOf(owner), name: 'Tobin’s phone', role: 'helper', person: '' };
    const shown = await form(`/shop/${code}/link`, fields).set('Cookie', owner).expect(200);
    expect(shown.headers['cache-control']).toBe('no-store');
    const token = /link=([\w-]+)/.exec(shown.text)![1]!;
    const rows = await shop.database.withShop(shop.shopId, (tx) => tx.signInLink.findMany());
    for (const row of rows) expect(Buffer.from(row.secretHash).toString('base64url')).not.toContain(token.slice(-32));
    const reader = await signIn('reader');
    await form(`/shop/${code}/link`, { ...fields, token: await tokenOf(reader) })
      .set('Cookie', reader)
      .expect(403);
  });
});

describe('a form', () => {
  const act = (cookie: string, fields: Record<string, string>, name = 'person') =>
    form(`/shop/${code}/do/${name}`, { from: '/shop', name: 'Mira', day1: 'yes', ...fields }).set('Cookie', cookie);

  it('needs its device’s own token and its own origin', async () => {
    const [mine, other] = [await signIn(), await signIn()];
    await act(mine, {}).expect(403);
    await act(mine, { token: await tokenOf(other) }).expect(403);
    const token = await tokenOf(mine);
    await act(mine, { token }).set('Origin', 'https://elsewhere.example').expect(403);
    await act(mine, { token }).set('Sec-Fetch-Site', 'same-site').expect(403);
    await act(mine, { token, key: 'once-only-1' }).expect(303);
    // Another token of the same device is as good, and never the same text.
    expect(await tokenOf(mine)).not.toBe(token);
  });

  it('sent again is done once', async () => {
    const cookie = await signIn();
    const token = await tokenOf(cookie);
    const count = () => shop.database.withShop(shop.shopId, (tx) => tx.person.count({ where: { name: 'Odran' } }));
    const first = await act(cookie, { token, name: 'Odran', key: 'again-and-again' }).expect(303);
    const second = await act(cookie, { token, name: 'Odran', key: 'again-and-again' }).expect(303);
    expect(second.headers.location).toBe(first.headers.location);
    expect(await count()).toBe(1);
  });

  it('refused comes back with what was typed, the reason beside it', async () => {
    const cookie = await signIn();
    const token = await tokenOf(cookie);
    const reply = await act(
      cookie,
      { token, from: '/shop', name: 'Wood rack', kind: 'cureRack', shelter: 'heated', heated: 'cosy' },
      'place',
    ).expect(422);
    expect(reply.text).toContain('value="Wood rack"');
    expect(reply.text).toContain('value="cosy"');
    expect(reply.text).toContain('Write a number in °C.');
    const json = await act(cookie, { token, name: '' }).set('Accept', 'application/json').expect(422);
    expect(json.body.refused).toBe('Say the name.');
  });

  it('of a reader or helper does nothing that is not theirs', async () => {
    for (const role of ['reader', 'helper'] as const) {
      const cookie = await signIn(role);
      await act(cookie, { token: await tokenOf(cookie), name: 'Nobody' }).expect(403);
    }
    expect(await shop.database.withShop(shop.shopId, (tx) => tx.person.count({ where: { name: 'Nobody' } }))).toBe(0);
  });

  it('leads nowhere else', async () => {
    const cookie = await signIn();
    const reply = await act(cookie, { token: await tokenOf(cookie), name: 'Ines', from: '//elsewhere.example' }).expect(
      303,
    );
    expect(reply.headers.location).toMatch(new RegExp(`^/shop/${code}/`));
  });
});

describe('a device', () => {
  it('is listed, and revoked opens nothing from then on', async () => {
    const owner = await signIn();
    const lost = await signIn('helper');
    await page(lost).expect(200);
    const rows = await shop.database.withShop(shop.shopId, (tx) =>
      tx.accessKey.findMany({
        where: { isDevice: true, role: 'helper', archivedAt: null },
        orderBy: { createdAt: 'desc' },
      }),
    );
    await form(`/shop/${code}/do/revoke`, { token: await tokenOf(owner), from: '/shop', device: rows[0]!.id })
      .set('Cookie', owner)
      .expect(303);
    await page(lost).expect(401);
    await page(owner).expect(200);
  });

  it('signed out is revoked, and its cookie is taken away', async () => {
    const cookie = await signIn();
    const reply = await form(`/shop/${code}/sign-out`, { token: await tokenOf(cookie) })
      .set('Cookie', cookie)
      .expect(303);
    expect(cookiesOf(reply)[0]).toContain('Max-Age=0');
    await page(cookie).expect(401);
  });

  it('of another shop sees nothing here', async () => {
    const { keys, shopId } = await shop.anotherShop();
    const other = cookieOf(await form('/shop/sign-in', { key: keys.owner, name: 'x' }).expect(303));
    await page(other).expect(401);
    await page(other.replace(shopCode(shopId), code)).expect(401);
  });
});

it('nothing inline and nothing from outside runs on a page, and pages with prices are kept nowhere', async () => {
  const cookie = await signIn();
  const first = await page(cookie).expect(200);
  const policy = first.headers['content-security-policy']!;
  expect(policy).toContain("default-src 'none'");
  expect(policy).not.toContain('unsafe-inline');
  expect(first.text).not.toMatch(/<script(?![^>]* src=)|<style| style="| on[a-z]+="/);
  expect(first.text.match(/(?:src|href)="(?:https?:)?\/\//g)).toBeNull();
  expect(first.headers['referrer-policy']).toBe('same-origin');
  expect((await page(cookie, '/worth').expect(200)).headers['cache-control']).toBe('no-store');
});
