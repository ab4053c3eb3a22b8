/** Signing in: nobody is signed in yet who asks here. */
import { Controller, Get, Inject, Param, Post, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import { at } from '../../engine/look-up.js';
import { APP_CONTEXT } from '../../platform/operation/app-context.js';
import type { AppContext } from '../../platform/operation/execute.js';
import { readForm } from '../frame/read-form.js';
import { sendAsset, sendPage } from '../frame/send.js';
import { isOwnOrigin, lastShop, ownerOfKey, signIn } from './sessions.js';
import { deviceName, DoorMessage, LinkPage, SignInPage } from './sign-in.js';
import { lookAtLink, SignInLinkWanted, takeLink } from './sign-in-links.js';

const usedUp = {
  title: 'This link does not work any more',
  text: 'It works once and for ten minutes. Ask the owner’s device for a new one, under “The shop”.',
};

@Controller()
export class SignInController {
  constructor(@Inject(APP_CONTEXT) private readonly app: AppContext) {}

  @Get()
  root(@Req() request: Request, @Res() response: Response): void {
    response.redirect(303, lastShop(request) ? `/shop/${lastShop(request)}` : '/shop');
  }

  @Get('shop')
  door(@Req() request: Request, @Res() response: Response): void {
    const name = deviceName(request.headers['user-agent']);
    sendPage(request, response, SignInPage({ name }), {});
  }

  /** Opening a link uses nothing up: a preview may have opened it first. */
  @Get('shop/sign-in')
  async link(@Req() request: Request, @Res() response: Response): Promise<void> {
    const token = String(request.query.link ?? '');
    const given = await lookAtLink(this.app.database, token, this.app.clock());
    if (!given) return sendPage(request, response, DoorMessage(usedUp), { status: 410 });
    const shop = await this.app.database.withShop(given.shopId, (tx) =>
      tx.shop.findFirstOrThrow({ select: { name: true } }),
    );
    sendPage(request, response, LinkPage({ token, shopName: shop.name, role: given.role, name: given.name }), {});
  }

  @Post('shop/sign-in')
  async signIn(@Req() request: Request, @Res() response: Response): Promise<void> {
    if (!isOwnOrigin(request)) {
      const text = 'The form did not come from this service’s own page.';
      return sendPage(request, response, DoorMessage({ title: 'Not signed in', text }), { status: 403 });
    }
    const { fields } = await readForm(request);
    const field = (name: string) => fields.get(name)?.[0]?.trim() ?? '';
    if (field('link')) {
      const given = await takeLink(this.app.database, field('link'), this.app.clock());
      if (!given) return sendPage(request, response, DoorMessage(usedUp), { status: 410 });
      response.redirect(303, `/shop/${await signIn(this.app.database, request, response, given)}`);
      return;
    }
    const owner = await ownerOfKey(this.app.database, field('key'));
    // A name that cannot be stored is left to the suggestion.
    const named = SignInLinkWanted.shape.name.safeParse(field('name'));
    const name = named.success ? named.data : deviceName(request.headers['user-agent']);
    if (!owner) {
      const wrong = 'That is no key of this service, or it was archived. “npm run keys” makes another.';
      return sendPage(request, response, SignInPage({ name, wrong }), { status: 401 });
    }
    const { shopId, role } = owner;
    const people = await this.app.database.withShop(shopId, (tx) =>
      tx.person.findMany({ where: { archivedAt: null }, select: { id: true }, take: 2 }),
    );
    // Where one person works, it is that person's hand.
    const personId = people.length === 1 ? at(people, 0).id : null;
    response.redirect(
      303,
      `/shop/${await signIn(this.app.database, request, response, { shopId, role, name, personId })}`,
    );
  }

  @Get('shop/assets/:file')
  asset(@Req() request: Request, @Res() response: Response, @Param('file') file: string): void {
    if (!sendAsset(request, response, file)) response.status(404).end();
  }
}
