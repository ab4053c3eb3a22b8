/** The areas in the order a machine passes through them, and the platform they stand on, put together. */
import { type DynamicModule, Module } from '@nestjs/common';
import { catalogue } from './catalogue/catalogue.module.js';
import { choice } from './choice/choice.module.js';
import { cost } from './cost/cost.module.js';
import { desk } from './desk/desk.module.js';
import { diagnosis } from './diagnosis/diagnosis.module.js';
import { finish } from './finish/finish.module.js';
import { ledger } from './ledger/ledger.module.js';
import { machines } from './machines/machines.module.js';
import { PagesModule } from './pages/pages.module.js';
import { pictures } from './pictures/pictures.module.js';
import { plan } from './plan/plan.module.js';
import { areaModules } from './platform/areas/area-modules.js';
import { nameKinds } from './platform/events/changes.js';
import { events } from './platform/events/events.js';
import { graphQLModule } from './platform/graphql/module.js';
import { SdlController } from './platform/graphql/sdl.controller.js';
import { HealthController } from './platform/observability/observability.js';
import { APP_CONTEXT } from './platform/operation/app-context.js';
import type { Area } from './platform/operation/area.js';
import type { AppContext } from './platform/operation/execute.js';
import { docsController } from './platform/rest/docs.controller.js';
import { openApiOf } from './platform/rest/openapi.js';
import { purchasing } from './purchasing/purchasing.module.js';
import { resale } from './resale/resale.module.js';
import { season } from './season/season.module.js';
import { shop } from './shop/shop.module.js';
import { stock } from './stock/stock.module.js';
import { work } from './work/work.module.js';

export const areas: readonly Area[] = [
  // Paths with a fixed end before records' ids: `stock/labels` is no bin.
  desk,
  shop,
  machines,
  ledger,
  work,
  diagnosis,
  stock,
  catalogue,
  purchasing,
  season,
  finish,
  pictures,
  plan,
  cost,
  resale,
  choice,
  events,
];
nameKinds(areas.flatMap((area) => area.operations));

@Module({})
class PlatformModule {
  static with(appContext: AppContext): DynamicModule {
    return {
      module: PlatformModule,
      global: true,
      providers: [{ provide: APP_CONTEXT, useValue: appContext }],
      exports: [APP_CONTEXT],
    };
  }
}

@Module({})
export class AppModule {
  static with(appContext: AppContext, version: string): DynamicModule {
    return {
      module: AppModule,
      imports: [
        PlatformModule.with(appContext),
        ...areaModules(areas),
        PagesModule.with(areas),
        graphQLModule(appContext.reportFault),
      ],
      controllers: [HealthController, SdlController, docsController(openApiOf(areas, version))],
    };
  }
}
