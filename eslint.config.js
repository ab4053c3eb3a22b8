// What the compiler does not say. Strictness about types is tsconfig.json's business.
import importSort from 'eslint-plugin-simple-import-sort';
import tseslint from 'typescript-eslint';

export default tseslint.config(
  { ignores: ['.build/', '.data/', 'src/platform/database/client/'] },
  tseslint.configs.recommended,
  {
    plugins: { 'import-sort': importSort },
    linterOptions: { reportUnusedDisableDirectives: 'error' },
    rules: {
      // `_` says that something is named only because it must be.
      '@typescript-eslint/no-unused-vars': [
        'error',
        { argsIgnorePattern: '^_', varsIgnorePattern: '^_', caughtErrorsIgnorePattern: '^_' },
      ],
      // `== null` asks for null and undefined at once.
      'import-sort/imports': ['error', { groups: [['^node:', '^@?\\w', '^\\.']] }],
      'import-sort/exports': 'error',
      eqeqeq: ['error', 'always', { null: 'ignore' }],
      'no-console': ['error', { allow: ['error'] }],
      'no-control-regex': 'error',
      'no-debugger': 'error',
      'no-empty': 'error',
      'no-self-compare': 'error',
      'no-template-curly-in-string': 'error',
      'no-unreachable-loop': 'error',
      'no-useless-escape': 'error',
      // Prettier wraps code at 120; this holds literals and comments, which it leaves alone.
      'max-len': ['error', { code: 140, ignoreUrls: true }],
      'prefer-const': 'error',
    },
  },
  // A value that may be missing is looked up by what tells when it is (`engine/look-up.ts`). Where `!` stays, its line says
  // why. Specs may use it: there a missing value fails the test.
  {
    files: ['src/**', 'seed/**', 'prisma/**'],
    ignores: ['**/*.spec.ts', '**/*.spec.tsx', 'src/engine/**'],
    rules: { '@typescript-eslint/no-non-null-assertion': 'error' },
  },
  // The engine walks lists and typed arrays by indices that it computed itself, in its innermost loops, where a check each
  // time would cost more than the work: `list[i]!` is allowed there, any other `!` is not.
  {
    files: ['src/engine/**'],
    ignores: ['**/*.spec.ts'],
    rules: {
      'no-restricted-syntax': [
        'error',
        {
          selector: 'TSNonNullExpression:not(:has(> MemberExpression[computed=true]))',
          message: 'Look it up with engine/look-up.ts, or narrow its type.',
        },
      ],
    },
  },
  { files: ['**/*.cjs'], rules: { '@typescript-eslint/no-require-imports': 'off' } },
  // What a person starts at the prompt speaks to that person.
  {
    files: ['src/main.ts', 'src/commands/**', 'src/platform/launch/**', 'test/**', '**/*.spec.ts'],
    rules: { 'no-console': 'off' },
  },
);
