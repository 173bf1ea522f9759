/**
 * Where a number of the judging comes from. Lists named constants at the top level of a module whose numbers have neither
 * a source nor the admission that there is none in their comment, and every number that stands in a function or class
 * without a name.
 *
 * No limit, weight or tolerance, and so neither listed nor in need of a source:
 * - 0, 1 and 2, with either sign;
 * - a half that is a factor, a step to the middle of a bin (`+ 0.5`) or a median (`quantile(0.5)`);
 * - a power of ten, 60, 3600 and 3.6 (m/s in km/h) as a factor or divisor: another unit, or rounding;
 * - a whole exponent, an index, a number in a type.
 */
import ts from 'typescript';
import type { Module } from './names.ts';

/** What a comment says that tells where its number is from, or that it is from nowhere. */
const TELLS =
  /\bchosen\b|common practice|no source|from memory|by definition|\b(ISO|SAE|KIT)\b|open drives?|simulated|\b(19|20)\d\d\b/i;
const PLAIN: readonly number[] = [0, 1, 2];
const UNITS: readonly number[] = [60, 3600, 3.6];

export interface Unsourced {
  /** Of a constant; of a number without a name the number as it is written. */
  readonly name: string;
  /** 1-based. */
  readonly line: number;
}

export function unsourcedIn(source: string): Unsourced[] {
  const file = ts.createSourceFile('x.ts', source, ts.ScriptTarget.Latest, true);
  const lineOf = (node: ts.Node): number => file.getLineAndCharacterOfPosition(node.getStart(file)).line + 1;
  let before = '';
  return file.statements.flatMap((statement) => {
    // What stands right below another, with no comment of its own above it, shares that of the other.
    const shares = /^[ \t]*(\/\/[^\n]*)?\n[ \t]*$/.test(source.slice(statement.pos, statement.getStart()));
    const comments = `${shares ? before : ''}${commentsOf(statement, source)}`;
    before = comments;
    const nameless = namelessIn(statement).map((n) => ({ name: n.text, line: lineOf(n) }));
    if (!ts.isVariableStatement(statement) || !(statement.declarationList.flags & ts.NodeFlags.Const))
      return nameless;
    const named = statement.declarationList.declarations
      .filter((d) => d.initializer && numbersOf(d.initializer, false).length > 0 && !TELLS.test(comments))
      .map((d) => ({ name: d.name.getText(file), line: lineOf(d) }));
    return [...named, ...nameless];
  });
}

/** Numbers of the expression itself, or those of the functions and classes in it; in the order of the text. */
function numbersOf(node: ts.Node, inFunctions: boolean, within = false): ts.NumericLiteral[] {
  if (ts.isTypeNode(node)) return [];
  if (ts.isFunctionLike(node) || ts.isClassLike(node)) {
    if (!inFunctions) return [];
    within = true;
  }
  if (ts.isNumericLiteral(node)) return within === inFunctions && !isPlain(node) ? [node] : [];
  const out: ts.NumericLiteral[] = [];
  ts.forEachChild(node, (child) => {
    out.push(...numbersOf(child, inFunctions, within));
  });
  return out;
}

const namelessIn = (statement: ts.Statement): ts.NumericLiteral[] => numbersOf(statement, true);

/** The operator that a number is an operand of, its sign aside, and whether it stands to the right of it. */
function operatorAt(node: ts.NumericLiteral): { readonly of: ts.SyntaxKind; readonly right: boolean } | null {
  const whole = ts.isPrefixUnaryExpression(node.parent) ? node.parent : node;
  const { parent } = whole;
  return ts.isBinaryExpression(parent)
    ? { of: parent.operatorToken.kind, right: parent.right === whole }
    : null;
}

const FACTORS: readonly ts.SyntaxKind[] = [ts.SyntaxKind.AsteriskToken, ts.SyntaxKind.SlashToken];

/** By itself, or added to another. */
function isIndex(node: ts.Node): boolean {
  const { parent } = node;
  if (ts.isBinaryExpression(parent) && parent.operatorToken.kind === ts.SyntaxKind.PlusToken)
    return isIndex(parent);
  return ts.isElementAccessExpression(parent) && parent.argumentExpression === node;
}

function isPlain(node: ts.NumericLiteral): boolean {
  const value = Number(node.text.replaceAll('_', ''));
  if (PLAIN.includes(value)) return true;
  if (isIndex(node)) return true;
  const operator = operatorAt(node);
  const isFactor = operator !== null && FACTORS.includes(operator.of);
  if (value === 0.5)
    return (
      isFactor ||
      operator?.of === ts.SyntaxKind.PlusToken ||
      (ts.isCallExpression(node.parent) && /quantile$/.test(node.parent.expression.getText()))
    );
  if (operator?.of === ts.SyntaxKind.AsteriskAsteriskToken && operator.right) return Number.isInteger(value);
  return isFactor && (UNITS.includes(value) || Number.isInteger(Math.log10(value)));
}

/** In front of it, within it, and behind it on its last line. */
function commentsOf(statement: ts.Statement, source: string): string {
  const lineEnd = source.indexOf('\n', statement.end);
  const behind = source.slice(statement.end, lineEnd < 0 ? undefined : lineEnd);
  const leading = (ts.getLeadingCommentRanges(source, statement.pos) ?? []).filter(
    // a blank line between: the comment is of something else
    (c) => !/\n\s*\n/.test(source.slice(c.end, statement.getStart())),
  );
  const within = [...statement.getText().matchAll(/\/\/.*|\/\*[\s\S]*?\*\//g)].map((m) => m[0]);
  return [...leading.map((c) => source.slice(c.pos, c.end)), ...within, behind]
    .join('\n')
    .replace(/\s*\n[\s*]*/g, ' ');
}

/** What is unsourced in these modules: file, line and name, or the number where it has none. */
export const unsourced = (modules: readonly Module[]): string[] =>
  modules.flatMap(({ path, source }) => unsourcedIn(source).map((u) => `${path}:${u.line} ${u.name}`));
