/** The GraphQL endpoint. */
import { ApolloServerPluginCacheControlDisabled } from '@apollo/server/plugin/disabled';
import { ApolloDriver, type ApolloDriverConfig } from '@nestjs/apollo';
import type { DynamicModule } from '@nestjs/common';
import { GraphQLModule } from '@nestjs/graphql';
import type { Request } from 'express';
import { GraphQLError, type GraphQLFormattedError } from 'graphql';
import { DomainError } from '../errors.js';
import { problemType } from '../problems/problem.js';
import { queryLimits, TOKENS_MOST } from './limits.js';
import type { RequestContext } from './resolver.js';

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
    plugins: [ApolloServerPluginCacheControlDisabled(), queryLimits()],
    parseOptions: { maxTokens: TOKENS_MOST },
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
  // What graphql itself found wrong with a request, such as a text so deep that its reader gave up, has a code of its own.
  const code = codeOf(formatted, error);
  if (code !== undefined && (cause === undefined || code === 'GRAPHQL_PARSE_FAILED'))
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

/** @returns undefined for what is no fault of the request */
function codeOf(formatted: GraphQLFormattedError, error: unknown): unknown {
  const code = formatted.extensions?.code;
  if (code !== 'INTERNAL_SERVER_ERROR') return code;
  // The server's own refusals, of a persisted query whose hash is of another say, carry a status only.
  const { http } = error instanceof GraphQLError ? (error.extensions as { http?: { status?: number } }) : {};
  return http?.status !== undefined && http.status < 500 ? 'BAD_REQUEST' : undefined;
}
