/** The fixed operators: small changes of a source file that a good test notices. Pure. */
import ts from 'typescript';

/** One small change of one file. */
export interface Mutant {
  /** Below the project's root, with forward slashes. */
  file: string;
  line: number;
  column: number;
  start: number;
  end: number;
  replacement: string;
  /** Both on one line, for people. */
  original: string;
  operator: string;
}

const kinds = ts.SyntaxKind;
const BINARY = new Map<ts.SyntaxKind, [operator: string, replacement: string]>([
  [kinds.PlusToken, ['arithmetic', '-']],
  [kinds.MinusToken, ['arithmetic', '+']],
  [kinds.AsteriskToken, ['arithmetic', '/']],
  [kinds.SlashToken, ['arithmetic', '*']],
  [kinds.PercentToken, ['arithmetic', '*']],
  [kinds.PlusEqualsToken, ['assignment', '-=']],
  [kinds.MinusEqualsToken, ['assignment', '+=']],
  [kinds.AsteriskEqualsToken, ['assignment', '/=']],
  [kinds.SlashEqualsToken, ['assignment', '*=']],
  [kinds.LessThanToken, ['boundary', '<=']],
  [kinds.LessThanEqualsToken, ['boundary', '<']],
  [kinds.GreaterThanToken, ['boundary', '>=']],
  [kinds.GreaterThanEqualsToken, ['boundary', '>']],
  [kinds.EqualsEqualsEqualsToken, ['equality', '!==']],
  [kinds.ExclamationEqualsEqualsToken, ['equality', '===']],
  [kinds.AmpersandAmpersandToken, ['logic', '||']],
  [kinds.BarBarToken, ['logic', '&&']],
  [kinds.QuestionQuestionToken, ['logic', '&&']],
]);
/** Methods whose opposite takes the same arguments: of numbers, lists and decimals. */
const METHODS = new Map(
  [
    ['min', 'max'],
    ['floor', 'ceil'],
    ['some', 'every'],
    ['plus', 'minus'],
    ['times', 'div'],
    ['greaterThan', 'greaterThanOrEqualTo'],
    ['lessThan', 'lessThanOrEqualTo'],
  ].flatMap(
    ([one, other]) =>
      [
        [one!, other!],
        [other!, one!],
      ] as const,
  ),
);

/**
 * Every mutant of a file. Types, imports and what an error says are left alone, since no test is asked about them.
 * @param file as in `Mutant`
 */
export function mutantsOf(file: string, source: string): Mutant[] {
  const tree = ts.createSourceFile(file, source, ts.ScriptTarget.ES2023, true);
  const found: Mutant[] = [];
  const change = (node: ts.Node, operator: string, replacement: string) => {
    const start = node.getStart(tree);
    const { line, character } = tree.getLineAndCharacterOfPosition(start);
    const original = source.slice(start, node.end);
    found.push({
      file,
      line: line + 1,
      column: character + 1,
      start,
      end: node.end,
      replacement,
      original: original.replace(/\s+/g, ' '),
      operator,
    });
  };
  const visit = (node: ts.Node): void => {
    if (ts.isTypeNode(node) || ts.isImportDeclaration(node) || ts.isInterfaceDeclaration(node)) return;
    if (ts.isTypeAliasDeclaration(node) || ts.isThrowStatement(node)) return;
    if (ts.isBinaryExpression(node)) {
      const swap = BINARY.get(node.operatorToken.kind);
      if (swap && !(node.operatorToken.kind === kinds.PlusToken && (isText(node.left) || isText(node.right))))
        change(node.operatorToken, ...swap);
    } else if (ts.isPrefixUnaryExpression(node)) {
      if (node.operator === kinds.ExclamationToken) change(node, 'negation', ` ${node.operand.getText(tree)}`);
      if (node.operator === kinds.MinusToken) change(node, 'sign', ` ${node.operand.getText(tree)}`);
    } else if (ts.isConditionalExpression(node)) {
      change(node.condition, 'condition', 'true');
      change(node.condition, 'condition', 'false');
    } else if (ts.isIfStatement(node)) {
      change(node.expression, 'condition', 'true');
      change(node.expression, 'condition', 'false');
    } else if (ts.isNumericLiteral(node)) {
      // A property's own name is no value.
      if (!ts.isPropertyAssignment(node.parent) || node.parent.name !== node)
        change(node, 'number', node.text === '0' ? '1' : `(${node.text} + 1)`);
    } else if (node.kind === kinds.TrueKeyword) change(node, 'boolean', 'false');
    else if (node.kind === kinds.FalseKeyword) change(node, 'boolean', 'true');
    else if (ts.isCallExpression(node) && ts.isPropertyAccessExpression(node.expression)) {
      const opposite = METHODS.get(node.expression.name.text);
      if (opposite) change(node.expression.name, 'method', opposite);
    } else if (ts.isExpressionStatement(node) && isDone(node.expression)) change(node, 'removal', ';');
    else if (ts.isContinueStatement(node) || ts.isBreakStatement(node)) change(node, 'removal', ';');
    node.forEachChild(visit);
  };
  visit(tree);
  return found;
}

const isText = (node: ts.Node): boolean =>
  ts.isStringLiteralLike(node) ||
  ts.isTemplateExpression(node) ||
  (ts.isBinaryExpression(node) && (isText(node.left) || isText(node.right)));

/** A statement that does something: a call, an assignment, a count. */
const isDone = (node: ts.Expression): boolean =>
  ts.isCallExpression(node) ||
  ts.isPostfixUnaryExpression(node) ||
  ts.isPrefixUnaryExpression(node) ||
  (ts.isBinaryExpression(node) && node.operatorToken.kind === kinds.EqualsToken);
