/** Offers, sales, prices seen. */
import { ownerOnly } from '../../platform/operation/operation.js';
import { Comparable, Offer, Sale } from '../../resale/resale.shapes.js';
import type { ActDeclared, ActResult } from '../frame/page.js';

const offer: ActDeclared = {
  name: 'offer',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const jobId = form.needed('job', 'which machine');
    const askPrice = form.moneyNeeded('ask', 'what you ask');
    const offeredDate = form.day();
    form.check();
    const [standing] = (await view.list('offers', Offer, { jobId })).items.filter((one) => !one.withdrawnDate);
    const channel = form.text('channel');
    const made = standing
      ? await view.act('changeOffer', Offer, {
          id: standing.id,
          version: standing.version,
          askPrice,
          ...(channel ? { channel } : {}),
        })
      : await view.act('createOffer', Offer, { jobId, askPrice, offeredDate, ...(channel ? { channel } : {}) });
    return {
      said: `Offered at ${view.say.money(made.askPrice ?? askPrice)}.`,
      undo: standing
        ? null
        : { act: 'withdraw', fields: { offer: made.id }, says: 'The machine is not on offer any more.' },
    };
  },
};

const withdraw: ActDeclared = {
  name: 'withdraw',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('offer', 'which offer');
    form.check();
    const { version } = await view.read('offer', Offer, { id });
    await view.act('withdrawOffer', Offer, { id, version });
    return { said: 'The offer is withdrawn.' };
  },
};

const sold: ActDeclared = {
  name: 'sold',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const jobId = form.needed('job', 'which machine');
    const price = form.moneyNeeded('price', 'what the buyer paid');
    const sellingCost = form.money('sellingCost') ?? '0';
    const soldDate = form.day();
    form.check();
    const sale = await view.act('createSale', Sale, {
      jobId,
      price,
      sellingCost,
      soldDate,
      buyer: form.text('buyer'),
      channel: form.text('channel'),
    });
    return {
      said: `Sold for ${view.say.money(sale.price ?? price)}.`,
      undo: { act: 'unsold', fields: { sale: sale.id }, says: 'The sale is reversed and the job is open again.' },
    };
  },
};

const unsold: ActDeclared = {
  name: 'unsold',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('sale', 'which sale');
    form.check();
    await view.act('reverseSale', Sale, { id });
    return { said: 'Taken back: the sale is reversed.' };
  },
};

const seen: ActDeclared = {
  name: 'seen',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const kind = form.oneOf('kind', ['singleStageThrower', 'twoStageThrower', 'walkBehindMower', 'other']);
    const price = form.moneyNeeded('price', 'the price');
    const maker = form.needed('maker', 'who made it');
    const width = form.quantity('width', 'length');
    const year = form.whole('year');
    const condition = form.whole('condition') ?? 3;
    const priceKind = form.oneOf('priceKind', ['asking', 'sold'], 'asking');
    form.check();
    const made = await view.act('createComparable', Comparable, {
      kind,
      maker,
      model: form.text('model'),
      yearEstimate: year,
      clearingWidthMillimetres: width === null ? null : Math.round(width),
      condition,
      priceKind,
      price,
      seenDate: form.day(),
      place: form.text('place'),
    });
    return {
      said: `Noted: ${maker} ${priceKind === 'sold' ? 'sold' : 'asked'} at ${view.say.money(made.price ?? price)}.`,
      undo: { act: 'unseen', fields: { comparable: made.id }, says: 'The price is struck from the record.' },
    };
  },
};

const unseen: ActDeclared = {
  name: 'unseen',
  roles: ownerOnly,
  async take(view, form): Promise<ActResult> {
    const id = form.needed('comparable', 'which price');
    form.check();
    const { version } = await view.read('comparable', Comparable, { id });
    await view.act('archiveComparable', Comparable, { id, version });
    return { said: 'Taken back: the price is struck from the record.' };
  },
};

export const worthActs: readonly ActDeclared[] = [offer, withdraw, sold, unsold, seen, unseen];
