/** What one GraphQL request may ask for: how deep, and how much in all. */
import { createRequire } from 'node:module';
import {
  type ASTVisitor,
  type FragmentDefinitionNode,
  GraphQLError,
  type SelectionSetNode,
  type ValidationContext,
  type ValidationRule,
} from 'graphql';
import type { ComplexityEstimator } from 'graphql-query-complexity';
import { PAGE_DEFAULT, PAGE_MOST } from '../operation/page.js';

// Its ES module build would load a second copy of graphql, whose types are strangers to the first one's.
const { createComplexityRule, simpleEstimator } = createRequire(import.meta.url)(
  'graphql-query-complexity',
) as typeof import('graphql-query-complexity');

const DEPTH_MOST = 12;
const COST_MOST = 25_000;
/** How many children a list without its own page size is taken to have. */
const LIST_GUESS = 10;

/** Introspection is deep by nature and reads no records, so it is not counted. */
export const depthRule: ValidationRule = (context: ValidationContext): ASTVisitor => {
  const fragments = new Map(
    context
      .getDocument()
      .definitions.filter((one): one is FragmentDefinitionNode => one.kind === 'FragmentDefinition')
      .map((one) => [one.name.value, one]),
  );
  const depthOf = (set: SelectionSetNode | undefined, seen: readonly string[]): number => {
    let deepest = 0;
    for (const one of set?.selections ?? []) {
      if (one.kind === 'Field') {
        if (!one.name.value.startsWith('__')) deepest = Math.max(deepest, 1 + depthOf(one.selectionSet, seen));
      } else if (one.kind === 'InlineFragment') {
        deepest = Math.max(deepest, depthOf(one.selectionSet, seen));
      } else if (!seen.includes(one.name.value)) {
        deepest = Math.max(deepest, depthOf(fragments.get(one.name.value)?.selectionSet, [...seen, one.name.value]));
      }
    }
    return deepest;
  };
  return {
    OperationDefinition(node) {
      const depth = depthOf(node.selectionSet, []);
      if (depth > DEPTH_MOST) {
        context.reportError(
          new GraphQLError(`The query is ${depth} fields deep; ${DEPTH_MOST} is the most.`, {
            nodes: node,
            extensions: { code: 'too-deep', http: { status: 400 } },
          }),
        );
      }
    },
  };
};

/** A connection costs its page size times what it holds; any other list is guessed at. */
const listEstimator: ComplexityEstimator = ({ field, args, childComplexity }) => {
  const typeName = String(field.type);
  if (/Connection!?$/.test(typeName)) {
    const asked = (args.first ?? args.last ?? PAGE_DEFAULT) as number;
    return 1 + Math.min(Math.max(asked, 1), PAGE_MOST) * childComplexity;
  }
  // `edges` is counted by its connection.
  if (field.name === 'edges') return childComplexity;
  if (typeName.startsWith('[') && childComplexity > 0) return 1 + LIST_GUESS * childComplexity;
  return undefined;
};

export const costRule = (variables: Record<string, unknown>): ValidationRule =>
  createComplexityRule({
    maximumComplexity: COST_MOST,
    variables,
    estimators: [listEstimator, simpleEstimator({ defaultComplexity: 1 })],
    createError: (most, actual) =>
      new GraphQLError(`The query would cost ${actual}; ${most} is the most. Ask for fewer rows or fields.`, {
        extensions: { code: 'too-costly', http: { status: 400 } },
      }),
  });
