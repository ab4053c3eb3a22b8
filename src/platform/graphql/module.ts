/** The GraphQL endpoint. */
import type { ApolloServerPlugin } from '@apollo/server';
import { ApolloServerPluginCacheControlDisabled } from '@apollo/server/plugin/disabled';
import { ApolloDriver, type ApolloDriverConfig } from '@nestjs/apollo';
import type { DynamicModule } from '@nestjs/common';
import { GraphQLModule } from '@nestjs/graphql';
import type { Request } from 'express';
import { GraphQLError, type GraphQLFormattedError, validate } from 'graphql';
import { DomainError } from '../errors.js';
import { problemType } from '../rest/problem.js';
import { costRule, depthRule } from './limits.js';
import type { RequestContext } from './resolver.js';

/** Checked once the variables are known, which the cost depends on; and here an error keeps its own code. */
const limits: ApolloServerPlugin<RequestContext> = {
  async requestDidStart() {
    return {
      async didResolveOperation({ request, document, schema }) {
        const validationErrors = validate(schema, document, [depthRule, costRule(request.variables ?? {})]);
        // The cost rule also complains of variables of the wrong type; that is told better where they are coerced.
        const beyond = validationErrors.find(
          (fault) => fault.extensions.code === 'too-deep' || fault.extensions.code === 'too-costly',
        );
        if (beyond) throw beyond;
      },
    };
  },
};

export function graphQLModule(reportFault: (error: unknown, where: string) => void): DynamicModule {
  return GraphQLModule.forRoot<ApolloDriverConfig>({
    driver: ApolloDriver,
    path: '/graphql',
    autoSchemaFile: true,
    sortSchema: true,
    // The playground would fetch its assets from elsewhere; /docs is ours.
    playground: false,
    graphiql: false,
    introspection: true,
    // Guards sites with cookies. Here every request carries its key in a header, which no foreign page can make a browser send.
    csrfPrevention: false,
    includeStacktraceInErrorResponses: false,
    stopOnTerminationSignals: false,
    context: ({ req }: { req: Request }): RequestContext => ({ req, loaders: new Map() }),
    plugins: [ApolloServerPluginCacheControlDisabled(), limits],
    formatError: (formatted, error) => formatGraphQLError(formatted, error, reportFault),
  });
}

function formatGraphQLError(
  formatted: GraphQLFormattedError,
  error: unknown,
  reportFault: (error: unknown, where: string) => void,
): GraphQLFormattedError {
  const cause = originalOf(error);
  const place = {
    ...(formatted.locations ? { locations: formatted.locations } : {}),
    ...(formatted.path ? { path: formatted.path } : {}),
  };
  if (cause instanceof DomainError) {
    return {
      message: cause.message,
      ...place,
      extensions: {
        code: cause.code,
        type: problemType(cause.code),
        title: cause.title,
        status: cause.status,
        ...cause.extra,
      },
    };
  }
  const code = formatted.extensions?.code;
  if (cause === undefined && code !== 'INTERNAL_SERVER_ERROR')
    return { message: formatted.message, ...place, extensions: { code } };
  reportFault(cause ?? error, `graphql ${formatted.path?.join('.') ?? ''}`);
  return {
    message: 'Something went wrong here; it has been written to the log and nothing was changed.',
    ...place,
    extensions: { code: 'fault', type: problemType('fault'), status: 500 },
  };
}

/** What a resolver threw, if a resolver threw; undefined for faults of the request found by graphql itself. */
function originalOf(error: unknown): unknown {
  let one = error;
  while (one instanceof GraphQLError && one.originalError) one = one.originalError;
  return one instanceof GraphQLError ? undefined : one;
}
