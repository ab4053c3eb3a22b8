/** The pages' one door for those who are signed in: which page or act it is, and what goes back. */
import { Controller, Get, Inject, Post, Req, Res } from '@nestjs/common';
import type { Request, Response } from 'express';
import QRCode from 'qrcode';
import { PlanProgress } from '../plan/answers/progress.queries.js';
import { shopCode } from '../platform/access/shop-code.js';
import { DomainError, Forbidden, Outdated } from '../platform/errors.js';
import { APP_CONTEXT } from '../platform/operation/app-context.js';
import { type AppContext, type Caller, executeOperation, readInTransaction } from '../platform/operation/execute.js';
import type { Operation } from '../platform/operation/operation.js';
import { validated } from '../platform/operation/validate.js';
import { SignInCode } from './access/link.js';
import { forget, formToken, isFormToken, isOwnOrigin, type Session, sessionOf } from './access/sessions.js';
import { deviceName, DoorMessage, SignInPage } from './access/sign-in.js';
import { makeSignInLink, SignInLinkWanted } from './access/sign-in-links.js';
import { chapters } from './chapters.js';
import { Document, type Shown } from './frame/document.js';
import { Form, WrongFields } from './frame/form.js';
import { Formatter } from './frame/format.js';
import { type ActDeclared, type ActResult, matchPath, type Page } from './frame/page.js';
import { readForm } from './frame/read-form.js';
import { assetMark, guard, sendPage, sendWorker } from './frame/send.js';
import { type Done, type Refusal, type Undo, View } from './frame/view.js';
import { PAGE_SETTINGS, type PageSettings } from './page-settings.js';

const pages: readonly Page[] = chapters.flatMap((chapter) => chapter.pages);
const files = chapters.flatMap((chapter) => chapter.files ?? []);
const acts = new Map<string, ActDeclared>(chapters.flatMap((chapter) => chapter.acts).map((act) => [act.name, act]));

/** For how long what was done is offered to be taken back. */
const UNDO_MINUTES = 15;

interface Asked {
  session: Session;
  code: string;
  request: Request;
  response: Response;
}

@Controller('shop/:code')
export class PagesController {
  constructor(
    @Inject(APP_CONTEXT) private readonly app: AppContext,
    @Inject(PAGE_SETTINGS) private readonly settings: PageSettings,
  ) {}

  @Get('state')
  async state(@Req() request: Request, @Res() response: Response): Promise<void> {
    const asked = await this.signedIn(request, response);
    if (!asked) return;
    const view = await this.viewOf(asked, '/');
    response.setHeader('Cache-Control', 'no-store');
    const { plannedAt, renewal } = await view.read('planProgress', PlanProgress);
    // Searching takes about half of the time, and the playing through the rest.
    const progress = renewal && { reading: 0, searching: 0.05, simulating: 0.5 }[renewal.stage];
    response.json({
      plan: plannedAt,
      progress: progress == null ? null : progress + (renewal?.share ?? 0) / 2,
      doing: 'The plan is being made anew.',
    });
  }

  @Get('worker.js')
  worker(@Req() request: Request, @Res() response: Response): void {
    sendWorker(request, response);
  }

  @Post('do/:act')
  async act(@Req() request: Request, @Res() response: Response): Promise<void> {
    const asked = await this.signedIn(request, response);
    if (!asked) return;
    const wantsJson = (request.headers.accept ?? '').startsWith('application/json');
    const act = acts.get(String(request.params.act));
    const { fields, files } = await readForm(request);
    const first = (name: string) => fields.get(name)?.[0] ?? '';
    const from = /^\/[^/\\]/.test(first('from')) || first('from') === '/' ? first('from') : '/';
    if (!isOwnOrigin(request) || !isFormToken(asked.session, first('token')) || !act) {
      const text = 'The form did not come from a page of this device. Open the page again and repeat.';
      if (wantsJson) response.status(403).json({ refused: text });
      else
        sendPage(
          request,
          response,
          DoorMessage({ title: 'Not recorded', text, to: `/shop/${asked.code}`, label: 'To the pages' }),
          { status: 403 },
        );
      return;
    }
    const key = /^[\w.-]{8,80}$/.test(first('key')) ? first('key') : null;
    const earlier = key ? await this.doneBefore(asked.session, key) : null;
    if (earlier) return this.goOn(asked, wantsJson, earlier.target, earlier.id, earlier.said);
    const view = await this.viewOf(asked, from, { tapKey: key });
    const form = new Form(fields, view.say, files);
    try {
      if (act.roles && !act.roles.includes(view.device.role))
        throw new Forbidden(`Only ${act.roles.join(' or ')} may do that; this device is a ${view.device.role}’s.`);
      const result = await act.take(view, form);
      if (result.shownOnce) {
        const page = Document({ view, shown: result.shownOnce, assets: assetMark(), planMark: null });
        sendPage(request, response, page, {});
        return;
      }
      const target = result.to ?? from;
      const id = await this.remember(asked.session, key, result, target);
      this.goOn(asked, wantsJson, target, id, result.said);
    } catch (error) {
      await this.refuse(asked, wantsJson, from, { act: act.name, about: first('about'), form }, error);
    }
  }

  @Get()
  first(@Req() request: Request, @Res() response: Response): Promise<void> {
    return this.page(request, response);
  }

  @Get('*path')
  async page(@Req() request: Request, @Res() response: Response): Promise<void> {
    const asked = await this.signedIn(request, response);
    if (!asked) return;
    const path = request.path.slice(`/shop/${asked.code}`.length) || '/';
    if (await this.file(asked, path)) return;
    const search = new URL(request.originalUrl, 'http://self').searchParams;
    const did = search.get('did');
    search.delete('did');
    const here = path + (search.size > 0 ? `?${search}` : '');
    await this.show(asked, here, { done: did ? await this.doneLately(asked.session, did) : null });
  }

  /** @returns whether the address was a file's, and it has been sent */
  private async file(asked: Asked, path: string): Promise<boolean> {
    for (const file of files) {
      const params = matchPath(file.path, path);
      if (!params) continue;
      const { request, response } = asked;
      const view = await this.viewOf(asked, request.originalUrl.slice(`/shop/${asked.code}`.length), { params });
      if (file.roles && !file.roles.includes(view.device.role)) {
        response.status(403).end();
        return true;
      }
      try {
        const { type, content, name, keptSeconds } = await file.make(view);
        guard(response);
        response.setHeader('Cache-Control', keptSeconds ? `private, max-age=${keptSeconds}` : 'no-store');
        if (name) response.setHeader('Content-Disposition', `inline; filename="${name}"`);
        response.type(type).send(content);
      } catch (error) {
        const { status, message } = this.inWords(error, `file ${file.path}`);
        sendPage(request, response, DoorMessage({ title: 'This cannot be shown', text: message }), { status });
      }
      return true;
    }
    return false;
  }

  // --- showing ---

  private async show(
    asked: Asked,
    here: string,
    more: { done?: Done | null; refusal?: Refusal | null; status?: number },
  ): Promise<void> {
    const { request, response } = asked;
    const [path] = here.split('?') as [string];
    let found: { page: Page; params: Record<string, string> } | undefined;
    for (const page of pages) {
      const params = matchPath(page.path, path);
      if (params) {
        found = { page, params };
        break;
      }
    }
    const view = await this.viewOf(asked, here, { ...more, params: found?.params ?? {} });
    let shown: Shown;
    try {
      if (!found) shown = { title: 'Not found', answer: 'There is no such page.', status: 404 };
      else if (found.page.roles && !found.page.roles.includes(view.device.role))
        shown = {
          title: 'Not for this device',
          answer: `This page is not for a ${view.device.role}’s device.`,
          status: 403,
        };
      else shown = await found.page.show(view);
    } catch (error) {
      const { status, message } = this.inWords(error, `page ${found?.page.path}`);
      shown = {
        title: 'Not shown',
        answer: status === 404 ? 'This is not here any more.' : 'This cannot be shown.',
        more: message,
        status,
      };
    }
    const mark = (await view.read('planProgress', PlanProgress)).plannedAt;
    sendPage(request, response, Document({ view, shown, assets: assetMark(), planMark: mark }), {
      status: more.status ?? shown.status ?? 200,
      kept: !shown.priced && (shown.status ?? 200) === 200 && !more.refusal,
    });
  }

  private goOn({ request, response, code }: Asked, json: boolean, target: string, id: string, said: string): void {
    const to = `/shop/${code}${target}${target.includes('?') ? '&' : '?'}did=${id}`;
    response.setHeader('Cache-Control', 'no-store');
    if (json) response.status(200).json({ to, said });
    else response.redirect(303, to);
    void request;
  }

  private async refuse(
    asked: Asked,
    json: boolean,
    from: string,
    about: Pick<Refusal, 'act' | 'about' | 'form'>,
    error: unknown,
  ): Promise<void> {
    const { status, message, wrong } = this.inWords(error, `act ${about.act}`);
    if (json) {
      // What may go well later says no refusal: the script keeps it and sends it again.
      const later = status >= 500 || status === 429 || (error instanceof DomainError && error.code === 'in-flight');
      asked.response.setHeader('Cache-Control', 'no-store');
      asked.response.status(status).json(later ? {} : { refused: message, wrong });
      return;
    }
    await this.show(asked, from, { refusal: { ...about, message, wrong }, status });
  }

  private inWords(error: unknown, where: string): { status: number; message: string; wrong: Record<string, string> } {
    if (error instanceof WrongFields) return { status: 422, message: error.message, wrong: error.wrong };
    if (error instanceof Outdated)
      return {
        status: 412,
        message: 'Somebody changed this since the page was shown. Look at it as it is now, then repeat.',
        wrong: {},
      };
    if (error instanceof DomainError) {
      const wrong: Record<string, string> = {};
      for (const { detail, pointer } of (error.extra.errors ?? []) as { detail: string; pointer: string }[])
        wrong[pointer.split('/').at(-1) ?? ''] ??= detail;
      return { status: error.status, message: error.message, wrong };
    }
    this.app.reportFault(error, where);
    return {
      status: 500,
      message: 'Something went wrong in the service; it has been written to its log. Try again in a moment.',
      wrong: {},
    };
  }

  // --- who asks ---

  private async signedIn(request: Request, response: Response): Promise<Asked | undefined> {
    const code = String(request.params.code);
    const session = /^[0-9a-f]{8}$/.test(code) ? await sessionOf(this.app.database, request, code) : undefined;
    if (session) return { session, code, request, response };
    if ((request.headers.accept ?? '').startsWith('application/json')) response.status(401).json({});
    else {
      // A link followed from another site brings no cookie along; one press here does.
      const again =
        request.method === 'GET' && request.headers['sec-fetch-site'] === 'cross-site'
          ? request.originalUrl
          : undefined;
      sendPage(
        request,
        response,
        SignInPage({ name: deviceName(request.headers['user-agent']), ...(again ? { again } : {}) }),
        { status: 401 },
      );
    }
    return undefined;
  }

  private async viewOf(
    { session, code, request, response }: Asked,
    here: string,
    more: {
      done?: Done | null;
      refusal?: Refusal | null;
      params?: Record<string, string>;
      tapKey?: string | null;
    } = {},
  ): Promise<View> {
    const { device } = session;
    const gone = new AbortController();
    response.once('close', () => response.writableFinished || gone.abort());
    const caller: Caller = { shopId: device.shopId, role: device.role, accessKeyId: device.id, signal: gone.signal };
    const shop = await this.app.database.withShop(device.shopId, (tx) =>
      tx.shop.findFirstOrThrow({
        select: { id: true, name: true, currency: true, timeZone: true, unitSystem: true },
      }),
    );
    return new View({
      device,
      shop: { ...shop, code: shopCode(shop.id) },
      say: new Formatter(shop, this.app.clock()),
      operations: this.settings.operations,
      ask: async (operation: Operation, input, idempotencyKey) =>
        (await executeOperation(this.app, operation, caller, input, idempotencyKey)).reply,
      within: (work) => readInTransaction(this.app, caller, work),
      base: `/shop/${code}`,
      here,
      params: more.params ?? {},
      query: Object.fromEntries(new URLSearchParams(here.split('?')[1] ?? '')),
      formToken: formToken(session),
      publicUrl: this.app.publicUrl ?? null,
      secure: request.secure,
      done: more.done ?? null,
      refusal: more.refusal ?? null,
      tapKey: more.tapKey ?? null,
    });
  }

  // --- what was done ---

  private doneBefore({ device }: Session, key: string) {
    return this.app.database.withShop(device.shopId, (tx) =>
      tx.deviceAct.findFirst({ where: { accessKeyId: device.id, key } }),
    );
  }

  private async doneLately({ device }: Session, id: string): Promise<Done | null> {
    if (!/^[0-9a-f-]{36}$/.test(id)) return null;
    const row = await this.app.database.withShop(device.shopId, (tx) =>
      tx.deviceAct.findFirst({ where: { id, accessKeyId: device.id } }),
    );
    const recent = row && this.app.clock().getTime() - row.createdAt.getTime() < UNDO_MINUTES * 60_000;
    // Written by these pages alone, in this form.
    return recent ? { said: row.said, undo: row.undo as unknown as Undo | null } : null;
  }

  private async remember({ device }: Session, key: string | null, result: ActResult, target: string): Promise<string> {
    const row = await this.app.database.withShop(device.shopId, (tx) =>
      tx.deviceAct.create({
        data: {
          shopId: device.shopId,
          accessKeyId: device.id,
          key: key ?? `${Date.now()}.${Math.random()}`,
          said: result.said,
          ...(result.undo ? { undo: { ...result.undo } } : {}),
          target,
          createdAt: this.app.clock(),
        },
      }),
    );
    return row.id;
  }

  /** A link for another device. It is shown here and kept nowhere, so it is no act that could be repeated. */
  @Post('link')
  async link(@Req() request: Request, @Res() response: Response): Promise<void> {
    const asked = await this.signedIn(request, response);
    if (!asked) return;
    const { fields } = await readForm(request);
    const { device } = asked.session;
    const own = isOwnOrigin(request) && isFormToken(asked.session, fields.get('token')?.[0] ?? '');
    if (!own || device.role !== 'owner') {
      const text = own ? 'Only the owner signs other devices in.' : 'Open the page again and repeat.';
      sendPage(request, response, DoorMessage({ title: 'No link was made', text }), { status: 403 });
      return;
    }
    const wanted = validated(SignInLinkWanted, {
      name: fields.get('name')?.[0],
      role: fields.get('role')?.[0],
      personId: fields.get('person')?.[0] || null,
    });
    const token = await makeSignInLink(
      this.app.database,
      device.shopId,
      { ...wanted, createdById: device.id },
      this.app.clock(),
    );
    const { publicUrl } = this.app;
    // Never from the Host header, which whoever asks may have written: without PUBLIC_URL the path alone is told.
    const path = `/shop/sign-in?link=${token}`;
    const svg = publicUrl ? await QRCode.toString(publicUrl + path, { type: 'svg', margin: 1 }) : null;
    const view = await this.viewOf(asked, '/shop');
    const shown: Shown = {
      title: 'Sign another device in',
      answer: svg ? `Scan this with ${wanted.name}.` : `Open this on ${wanted.name}.`,
      rest: (
        <SignInCode
          view={view}
          address={publicUrl ? publicUrl + path : null}
          path={path}
          svg={svg}
          role={wanted.role}
        />
      ),
      priced: true,
    };
    sendPage(request, response, Document({ view, shown, assets: assetMark(), planMark: null }), {});
  }

  @Post('sign-out')
  async signOut(@Req() request: Request, @Res() response: Response): Promise<void> {
    const asked = await this.signedIn(request, response);
    if (!asked) return;
    const { fields } = await readForm(request);
    if (!isOwnOrigin(request) || !isFormToken(asked.session, fields.get('token')?.[0] ?? '')) {
      response.redirect(303, `/shop/${asked.code}`);
      return;
    }
    await this.app.database.withShop(asked.session.device.shopId, (tx) =>
      tx.accessKey.update({ where: { id: asked.session.device.id }, data: { archivedAt: this.app.clock() } }),
    );
    forget(request, response, asked.code);
    response.setHeader('Clear-Site-Data', '"storage", "cache"');
    response.redirect(303, '/shop');
  }
}
