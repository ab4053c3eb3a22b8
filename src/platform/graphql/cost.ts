/** What a GraphQL query would cost, worked out from its text before any of it is done. */
import {
  type FieldNode,
  type FragmentDefinitionNode,
  getArgumentValues,
  getDirectiveValues,
  getNamedType,
  getNullableType,
  type GraphQLField,
  GraphQLIncludeDirective,
  type GraphQLSchema,
  GraphQLSkipDirective,
  isEnumType,
  isInputObjectType,
  isListType,
  isObjectType,
  type OperationDefinitionNode,
  SchemaMetaFieldDef,
  type SelectionNode,
  type SelectionSetNode,
  typeFromAST,
  TypeMetaFieldDef,
  TypeNameMetaFieldDef,
} from 'graphql';
import { PAGE_DEFAULT, PAGE_MOST } from '../operation/page.js';

/**
 * One point is what one value of a reply takes: some 4 µs of the event loop. The rest is measured by it.
 */
const OPERATION_COST = 1000;
const RELATION_COST = 400;
/** Of what waits for a plan or another computation of seconds, of which only a few are done at once. */
const SLOW_COST = 4500;
const SLOW_ROW_COST = 20;
/** How many children a list without its own page size is taken to have. */
const LIST_GUESS = 10;

/** Stands among a field's extensions, put there where the field is made. */
export interface Effort {
  kind: 'operation' | 'relation';
  slow: boolean;
}

export interface Cost {
  depth: number;
  introspectionDepth: number;
  /** Of what is done once, however many rows there are: operations, and relations, which are loaded for all rows together. */
  once: number;
  /** Of what is done for each row. */
  each: number;
  introspection: number;
}

const nothing: Cost = { depth: 0, introspectionDepth: 0, once: 0, each: 0, introspection: 0 };

const together = (a: Cost, b: Cost): Cost => ({
  depth: Math.max(a.depth, b.depth),
  introspectionDepth: Math.max(a.introspectionDepth, b.introspectionDepth),
  once: a.once + b.once,
  each: a.each + b.each,
  introspection: a.introspection + b.introspection,
});

/** How many entries the lists of this schema's introspection have on average, so that asking for all comes to its true size. */
function introspectionSizes(schema: GraphQLSchema): Record<string, number> {
  const types = Object.values(schema.getTypeMap());
  const fields = types.flatMap((type) => (isObjectType(type) ? Object.values(type.getFields()) : []));
  const inputFields = types.flatMap((type) => (isInputObjectType(type) ? Object.keys(type.getFields()) : []));
  const enumValues = types.flatMap((type) => (isEnumType(type) ? type.getValues() : []));
  return {
    '__Schema.types': types.length,
    '__Schema.directives': schema.getDirectives().length,
    '__Type.fields': fields.length / types.length,
    '__Type.inputFields': inputFields.length / types.length,
    '__Type.enumValues': enumValues.length / types.length,
    '__Type.interfaces': 1,
    '__Type.possibleTypes': 1,
    '__Field.args': fields.reduce((sum, field) => sum + field.args.length, 0) / fields.length,
    '__Directive.args': 1,
  };
}

/** Computes what queries of one schema would cost; each fragment is looked at once, however often it is spread. */
export class QueryCosts {
  private readonly sizes: Record<string, number>;

  constructor(private readonly schema: GraphQLSchema) {
    this.sizes = introspectionSizes(schema);
  }

  /** @param document a valid one: known fields, no fragment within itself */
  of(
    operation: OperationDefinitionNode,
    fragments: ReadonlyMap<string, FragmentDefinitionNode>,
    variables: Record<string, unknown>,
  ): Cost {
    const known = new Map<string, Cost>();
    const ofSet = (set: SelectionSetNode, parent: unknown): Cost => {
      let sum = nothing;
      for (const one of set.selections) {
        if (isLeftOut(one, variables)) continue;
        if (one.kind === 'Field') sum = together(sum, ofField(one, parent));
        else if (one.kind === 'InlineFragment') {
          const on = one.typeCondition ? typeFromAST(this.schema, one.typeCondition) : parent;
          sum = together(sum, ofSet(one.selectionSet, on));
        } else {
          const name = one.name.value;
          const fragment = fragments.get(name);
          if (!fragment) continue;
          let cost = known.get(name);
          if (!cost) {
            cost = ofSet(fragment.selectionSet, typeFromAST(this.schema, fragment.typeCondition));
            known.set(name, cost);
          }
          sum = together(sum, cost);
        }
      }
      return sum;
    };
    const ofField = (node: FieldNode, parent: unknown): Cost => {
      const field = this.fieldOf(parent, node.name.value);
      if (!field) return nothing;
      const below = node.selectionSet ? ofSet(node.selectionSet, getNamedType(field.type)) : nothing;
      const parentName = String(parent);
      if (field === SchemaMetaFieldDef || field === TypeMetaFieldDef || parentName.startsWith('__')) {
        const many = this.sizes[`${parentName}.${field.name}`] ?? 1;
        return {
          ...nothing,
          introspectionDepth: below.introspectionDepth + 1,
          introspection: 1 + many * below.introspection,
        };
      }
      const effort = field.extensions.effort as Effort | undefined;
      const rows = rowsOf(field, node, variables);
      const ownOnce =
        effort === undefined
          ? 0
          : effort.slow
            ? SLOW_COST
            : effort.kind === 'operation'
              ? OPERATION_COST
              : RELATION_COST;
      const ownEach = 1 + (effort?.slow ? SLOW_ROW_COST : 0);
      return {
        ...below,
        depth: below.depth + (field === TypeNameMetaFieldDef ? 0 : 1),
        once: ownOnce + below.once,
        each: ownEach + rows * below.each,
      };
    };
    return ofSet(operation.selectionSet, this.schema.getRootType(operation.operation));
  }

  private fieldOf(parent: unknown, name: string): GraphQLField<unknown, unknown> | undefined {
    if (name === TypeNameMetaFieldDef.name) return TypeNameMetaFieldDef;
    if (parent === this.schema.getQueryType()) {
      if (name === SchemaMetaFieldDef.name) return SchemaMetaFieldDef;
      if (name === TypeMetaFieldDef.name) return TypeMetaFieldDef;
    }
    return isObjectType(parent) ? parent.getFields()[name] : undefined;
  }
}

/** Does a directive leave it out? */
export function isLeftOut(node: SelectionNode, variables: Record<string, unknown>): boolean {
  try {
    return (
      getDirectiveValues(GraphQLSkipDirective, node, variables)?.if === true ||
      getDirectiveValues(GraphQLIncludeDirective, node, variables)?.if === false
    );
  } catch {
    // A null where true or false must stand: refused when it is come to, after what stands before it has been done.
    return false;
  }
}

/** A connection has its page size's rows, told at its `edges`; any other list is guessed at. */
function rowsOf(field: GraphQLField<unknown, unknown>, node: FieldNode, variables: Record<string, unknown>): number {
  const type = getNullableType(field.type);
  if (String(type).endsWith('Connection')) {
    return pageSize(field, node, variables);
  }
  return isListType(type) && field.name !== 'edges' ? LIST_GUESS : 1;
}

function pageSize(field: GraphQLField<unknown, unknown>, node: FieldNode, variables: Record<string, unknown>): number {
  try {
    const { first, last } = getArgumentValues(field, node, variables) as { first?: number; last?: number };
    return Math.min(Math.max(first ?? last ?? PAGE_DEFAULT, 1), PAGE_MOST);
  } catch {
    return PAGE_MOST;
  }
}
