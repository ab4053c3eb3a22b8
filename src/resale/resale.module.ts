import { batchOf, previewOf } from '../platform/batch/batch.js';
import type { Area } from '../platform/operation/area.js';
import { breakEvenQueries } from './break-even.queries.js';
import { businessQueries } from './business.queries.js';
import { buyerOfferOperations } from './buyer-offers.operations.js';
import { comparableOperations } from './comparables.operations.js';
import { customerRefundOperations } from './customer-refunds.operations.js';
import { offerOperations } from './offers.operations.js';
import { partInvoiceOperations } from './part-invoices.operations.js';
import { partSaleOperations } from './part-sales.operations.js';
import { personalDataOperations } from './personal-data.operations.js';
import { priceQueries, resaleRelations } from './price.queries.js';
import { resultQueries, resultRelations } from './result.queries.js';
import { saleOperations } from './sale.operations.js';
import { taxPeriodQueries } from './tax-periods.queries.js';

export const resale: Area = {
  name: 'resale',
  description: 'Prices seen elsewhere, what to ask and to bid, offers, sales and refunds.',
  operations: [
    ...comparableOperations,
    batchOf(comparableOperations, 'createComparable', {
      name: 'createComparables',
      summary: 'Record many comparables at once, all or none',
      path: '/comparables/batch',
    }),
    previewOf(comparableOperations, 'createComparable', {
      name: 'previewComparables',
      summary: 'Try comparables before recording them: what each would be, and what stands against it',
      path: '/comparables/preview',
    }),
    ...offerOperations,
    batchOf(offerOperations, 'createOffer', {
      name: 'createOffers',
      summary: 'Offer many machines at once, all or none',
      path: '/offers/batch',
    }),
    ...buyerOfferOperations,
    batchOf(buyerOfferOperations, 'createBuyerOffer', {
      name: 'createBuyerOffers',
      summary: 'Record what many buyers offered at once, all or none',
      path: '/buyer-offers/batch',
    }),
    ...saleOperations,
    ...customerRefundOperations,
    ...partSaleOperations,
    ...partInvoiceOperations,
    ...personalDataOperations,
    ...priceQueries,
    ...businessQueries,
    ...taxPeriodQueries,
    ...breakEvenQueries,
    ...resultQueries,
  ],
  relations: [...resaleRelations, ...resultRelations],
};
