/** The pages, on the areas' operations. */
import { type DynamicModule, Module } from '@nestjs/common';
import type { Area } from '../platform/operation/area.js';
import { SignInController } from './access/sign-in.controller.js';
import { BuyerDocumentController } from './document/document.controller.js';
import { PAGE_SETTINGS } from './page-settings.js';
import { PagesController } from './pages.controller.js';

@Module({})
export class PagesModule {
  static with(areas: readonly Area[]): DynamicModule {
    const operations = new Map(areas.flatMap((area) => area.operations).map((one) => [one.name, one]));
    return {
      module: PagesModule,
      // Signing in first: its addresses are no shop's.
      controllers: [SignInController, BuyerDocumentController, PagesController],
      providers: [{ provide: PAGE_SETTINGS, useValue: { operations } }],
    };
  }
}
