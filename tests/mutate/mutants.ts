/** Small changes to a source text, each of which a test should notice. */
import ts from 'typescript';

export interface Mutant {
  /** 1-based. */
  readonly line: number;
  readonly kind: 'comparison' | 'logic' | 'number' | 'negation' | 'statement' | 'pattern';
  /** What stood there and what stands there instead, on one line. */
  readonly was: string;
  readonly is: string;
  /** The whole text with the change in it. */
  readonly text: string;
}

const COMPARISONS: Readonly<Record<string, string>> = {
  '<': '<=',
  '<=': '<',
  '>': '>=',
  '>=': '>',
  '===': '!==',
  '!==': '===',
};
const LOGIC: Readonly<Record<string, string>> = { '&&': '||', '||': '&&' };

/** @param source TypeScript; types and imports are left as they are */
export function mutantsOf(source: string): Mutant[] {
  const file = ts.createSourceFile('x.tsx', source, ts.ScriptTarget.Latest, true, ts.ScriptKind.TSX);
  const mutants: Mutant[] = [];
  const put = (kind: Mutant['kind'], from: number, to: number, is: string): void => {
    const oneLine = (text: string): string => text.replace(/\s+/g, ' ').slice(0, 80);
    mutants.push({
      line: file.getLineAndCharacterOfPosition(from).line + 1,
      kind,
      was: oneLine(source.slice(from, to)),
      is: oneLine(is),
      text: source.slice(0, from) + is + source.slice(to),
    });
  };
  const visit = (node: ts.Node): void => {
    if (ts.isTypeNode(node) || ts.isImportDeclaration(node) || ts.isInterfaceDeclaration(node)) return;
    if (ts.isBinaryExpression(node)) {
      const sign = node.operatorToken;
      const from = sign.getStart(file);
      const comparison = COMPARISONS[sign.getText(file)];
      const logic = LOGIC[sign.getText(file)];
      if (comparison) put('comparison', from, sign.end, comparison);
      if (logic) put('logic', from, sign.end, logic);
    } else if (ts.isNumericLiteral(node)) put('number', node.getStart(file), node.end, nudged(node.text));
    else if (ts.isPrefixUnaryExpression(node) && node.operator === ts.SyntaxKind.ExclamationToken)
      put('negation', node.getStart(file), node.end, `(${node.operand.getText(file)})`);
    else if (ts.isExpressionStatement(node) && removable(node.expression))
      put('statement', node.getStart(file), node.end, ';');
    else if (node.kind === ts.SyntaxKind.RegularExpressionLiteral)
      for (const wider of widened(node.getText(file))) put('pattern', node.getStart(file), node.end, wider);
    ts.forEachChild(node, visit);
  };
  visit(file);
  return mutants;
}

/** A quarter more, one at least where it is a whole number. */
function nudged(text: string): string {
  const value = Number(text);
  return String(Number.isInteger(value) ? value + Math.max(1, Math.round(value / 4)) : value * 1.25);
}

/** Calls and assignments; what a constructor of a parent does cannot be left out. */
function removable(e: ts.Expression): boolean {
  if (ts.isAwaitExpression(e) || ts.isVoidExpression(e)) return removable(e.expression);
  if (ts.isCallExpression(e)) return e.expression.kind !== ts.SyntaxKind.SuperKeyword;
  return (
    ts.isBinaryExpression(e) &&
    e.operatorToken.kind >= ts.SyntaxKind.FirstAssignment &&
    e.operatorToken.kind <= ts.SyntaxKind.LastAssignment
  );
}

/** Patterns that take one thing more: without an anchor, with a range one longer, with a count open above. */
function widened(pattern: string): string[] {
  const out: string[] = [];
  const at = (i: number, length: number, is: string): void => {
    out.push(pattern.slice(0, i) + is + pattern.slice(i + length));
  };
  if (pattern.startsWith('/^')) at(1, 1, '');
  const end = pattern.lastIndexOf('$/');
  if (end > 0) at(end, 1, '');
  // A range that ends at a 9 has no digit behind it.
  for (const m of pattern.matchAll(/([0-9A-Za-z])-([0-8A-Ya-y])/g))
    at(m.index, 3, `${m[1]}-${String.fromCharCode(m[2]!.charCodeAt(0) + 1)}`);
  for (const m of pattern.matchAll(/\{(\d+)(,\d+)?\}/g)) at(m.index, m[0].length, `{${m[1]},}`);
  return out;
}
