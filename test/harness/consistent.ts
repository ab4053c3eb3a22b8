import { expect } from '@jest/globals';
import { findInconsistencies } from '../../src/consistency/find-inconsistencies.js';
import type { TestShop } from './server.js';

/** Whatever a test did through the service, the records agree with themselves afterwards. */
export async function expectConsistent(shop: TestShop): Promise<void> {
  expect(await shop.database.withShop(shop.shopId, findInconsistencies)).toEqual([]);
}
