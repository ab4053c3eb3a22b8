/** What one GraphQL request may ask for: how long, how deep, and how much in all. */
import type { ApolloServerPlugin } from '@apollo/server';
import {
  type DocumentNode,
  type FragmentDefinitionNode,
  getIntrospectionQuery,
  getVariableValues,
  GraphQLError,
  type GraphQLSchema,
  type OperationDefinitionNode,
  parse,
} from 'graphql';
import { LRUCache } from 'lru-cache';
import { required } from '../../engine/look-up.js';
import { QueryCosts } from './cost.js';
import { Introspection } from './introspection.js';
import type { RequestContext } from './resolver.js';

/** Names, braces and the like in one document; a page that asks for all that it shows needs some hundreds. */
export const TOKENS_MOST = 4000;
const DEPTH_MOST = 12;
/** Introspection is deep by nature: a type within nine lists and non-nulls, below the arguments of a type's fields. */
const INTROSPECTION_DEPTH_MOST = 20;
/** About 100 ms of the event loop. */
const COST_MOST = 25_000;

const fullIntrospection = parse(
  getIntrospectionQuery({
    descriptions: true,
    specifiedByUrl: true,
    directiveIsRepeatable: true,
    schemaDescription: true,
    inputValueDeprecation: true,
    oneOf: true,
  }),
);

/** An operation with what is needed to look into it. */
interface Asked {
  operation: OperationDefinitionNode;
  fragments: ReadonlyMap<string, FragmentDefinitionNode>;
  /** Undefined where they are not of their types, which is told better where they are used. */
  variables: Record<string, unknown> | undefined;
}

export class QueryLimits {
  private readonly costs: QueryCosts;
  private readonly introspectionMost: number;
  private readonly answerCache = new LRUCache<OperationDefinitionNode, Record<string, unknown>>({ max: 4 });

  constructor(private readonly schema: GraphQLSchema) {
    this.costs = new QueryCosts(schema);
    const whole = this.asked(fullIntrospection, operationIn(fullIntrospection), {});
    // And half as much again, for tools with a form of their own.
    this.introspectionMost = 1.5 * this.costs.of(whole.operation, whole.fragments, {}).introspection;
  }

  asked(document: DocumentNode, operation: OperationDefinitionNode, given: Record<string, unknown>): Asked {
    const fragments = new Map(
      document.definitions
        .filter((one): one is FragmentDefinitionNode => one.kind === 'FragmentDefinition')
        .map((one) => [one.name.value, one]),
    );
    const { coerced } = getVariableValues(this.schema, operation.variableDefinitions ?? [], given);
    return { operation, fragments, variables: coerced };
  }

  /** @throws GraphQLError with status 400 for what would take too long */
  check({ operation, fragments, variables }: Asked): void {
    if (!variables) return;
    const cost = this.costs.of(operation, fragments, variables);
    if (cost.depth > DEPTH_MOST)
      throw beyond('too-deep', `The query is ${cost.depth} fields deep; ${DEPTH_MOST} is the most.`);
    if (cost.introspectionDepth > INTROSPECTION_DEPTH_MOST)
      throw beyond('too-deep', `The introspection is more than ${INTROSPECTION_DEPTH_MOST} fields deep.`);
    if (cost.introspection > this.introspectionMost)
      throw beyond('too-costly', 'The query asks for more of the schema than there is; ask for each thing once.');
    // Beside other fields, introspection is executed as they are.
    const all = Math.ceil(cost.once + cost.each) + (cost.once > 0 ? Math.ceil(cost.introspection) : 0);
    if (all > COST_MOST)
      throw beyond(
        'too-costly',
        `The query would cost ${all}; ${COST_MOST} is the most. Ask for fewer rows or fields, or in several requests.`,
      );
  }

  /** The answer to what asks of the schema alone, kept ready for the next one. */
  answer({ operation, fragments, variables }: Asked): Record<string, unknown> | undefined {
    // A document that comes again is not read again, and so has the same nodes.
    const known = this.answerCache.get(operation);
    if (known || !variables) return known;
    const answer = new Introspection(this.schema, fragments, variables).answer(operation);
    if (answer && !operation.variableDefinitions?.length) this.answerCache.set(operation, answer);
    return answer;
  }
}

const operationIn = (document: DocumentNode): OperationDefinitionNode =>
  required(
    document.definitions.find((one): one is OperationDefinitionNode => one.kind === 'OperationDefinition'),
    'operation in the document',
  );

const beyond = (code: string, message: string): GraphQLError =>
  new GraphQLError(message, { extensions: { code, http: { status: 400 } } });

/** Checked once the variables are known, which the cost depends on. */
export function queryLimits(): ApolloServerPlugin<RequestContext> {
  let limits: QueryLimits;
  return {
    async serverWillStart(server) {
      limits = new QueryLimits(server.schema);
    },
    async requestDidStart() {
      let asked: Asked | undefined;
      return {
        async didResolveOperation({ request, document, operation }) {
          // One that is not in the document is told of when it is looked for.
          if (!operation) return;
          asked = limits.asked(document, operation, request.variables ?? {});
          limits.check(asked);
        },
        async responseForOperation({ response }) {
          const data = asked && limits.answer(asked);
          return data ? { ...response, body: { kind: 'single' as const, singleResult: { data } } } : null;
        },
      };
    },
  };
}
