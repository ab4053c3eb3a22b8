/** The areas in the order a machine passes through them, and the platform they stand on, put together. */
import { type DynamicModule, Module } from '@nestjs/common';
import { cost } from './cost/cost.module.js';
import { questions } from './desk/questions/questions.module.js';
import { diagnosis } from './diagnosis/diagnosis.module.js';
import { finish } from './finish/finish.module.js';
import { intake } from './machines/machines.module.js';
import { PagesModule } from './pages/pages.module.js';
import { plan } from './plan/plan.module.js';
import { type Area, areaModules } from './platform/area.js';
import { graphQLModule } from './platform/graphql/module.js';
import { HealthController } from './platform/observability.js';
import type { AppContext } from './platform/operation/execute.js';
import { docsController } from './platform/rest/docs.controller.js';
import { openApiOf } from './platform/rest/openapi.js';
import { APP_CONTEXT } from './platform/tokens.js';
import { parts } from './purchasing/purchasing.module.js';
import { resale } from './resale/resale.module.js';
import { season } from './season/season.module.js';
import { shop } from './shop/shop.module.js';
import { work } from './work/work.module.js';

export const areas: readonly Area[] = [
  shop,
  intake,
  diagnosis,
  parts,
  work,
  finish,
  season,
  plan,
  cost,
  resale,
  questions,
];

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
  static with(appContext: AppContext, version: string, publicUrl: string | null = null): DynamicModule {
    return {
      module: AppModule,
      imports: [
        PlatformModule.with(appContext),
        ...areaModules(areas),
        PagesModule.with(areas, publicUrl),
        graphQLModule(appContext.reportFault),
      ],
      controllers: [HealthController, docsController(openApiOf(areas, version))],
    };
  }
}
