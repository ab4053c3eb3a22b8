/** The areas' controllers and resolvers, made from their declarations. */
import { type DynamicModule, Module } from '@nestjs/common';
import type { z } from 'zod';
import { relationResolvers, resolverOf } from '../graphql/resolver.js';
import type { Area } from '../operation/area.js';
import { controllerOf } from '../rest/controller.js';
import { nameOf } from '../shapes.js';

@Module({})
export class AreaModule {}

/** The areas' controllers and resolvers as one Nest module each; a relation may hang on another area's shape. */
export function areaModules(areas: readonly Area[]): DynamicModule[] {
  const shapes = shapesByName(areas);
  const names = new Set<string>();
  for (const operation of areas.flatMap((area) => area.operations)) {
    if (names.has(operation.name)) throw new Error(`Two operations are called ${operation.name}`);
    names.add(operation.name);
  }
  return areas.map((area) => {
    class ThisArea extends AreaModule {}
    Object.defineProperty(ThisArea, 'name', { value: `${area.name}Module` });
    Module({})(ThisArea);
    return {
      module: ThisArea,
      // Those written by hand first: `stock/labels.pdf` is no record's id.
      controllers: [...(area.controllers ?? []), controllerOf(area.name, area.operations)],
      providers: [resolverOf(area.name, area.operations), ...relationResolvers(area.relations ?? [], shapes)],
    };
  });
}

function shapesByName(areas: readonly Area[]): Map<string, z.ZodObject> {
  const shapes = new Map<string, z.ZodObject>();
  for (const { output } of areas.flatMap((area) => area.operations)) {
    const name = nameOf(output);
    if (name) shapes.set(name, output as z.ZodObject);
  }
  return shapes;
}
