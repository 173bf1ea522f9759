/**
 * Where a number of the judging comes from. Lists named constants at the top level of a module whose numbers have neither
 * a source nor the admission that there is none in their comment, and every number that stands in a function or class
 * without a name. Constants that are imported from elsewhere are held to it where they stand.
 *
 * What is made of literals alone counts as the number that it comes to. No limit, weight or tolerance, and so neither
 * listed nor in need of a source:
 * - 0, 1 and 2, with either sign, unless 1 or 2 has a name;
 * - a half that is a factor, a step to the middle of a bin (`+ 0.5`) or a median (`quantile(0.5)`);
 * - a power of a thousand, 100, 60, 3600 and 3.6 (m/s in km/h) as a factor or divisor: another unit; any power of ten in rounding;
 * - a whole exponent, an index, a number in a type.
 */
import { dirname, join } from 'node:path';
import ts from 'typescript';
import type { Module } from './names.ts';

/** What a comment says that tells where its number is from, or that it is from nowhere. A word of it alone tells nothing. */
const TELLS = new RegExp(
  [
    /chosen (on|so|by|for|from|with|between)\b/, // whoever chose says on what, or that it was by hand
    /common practice|\bno source\b(?! of)|from memory|by definition|by hand|not measured|not known how chosen/,
    /\b(ISO|SAE|EN) ([A-Z]{1,2})?\d{3,}/, // a standard has a number
    /\bKIT\b[^.]*\d|\bKIT['’]s|\bKIT, /, // the data set, and what was seen in it
    /\b\d+ (of the )?open\b|open drives?(,[^:)]*)?: |of the open drives|healthy open drives?/,
    /simulated .*even seeds/,
    /\*[^*]+\* \((19|20)\d\d\)/, // a book: *Title* (year)
  ]
    .map((r) => r.source)
    .join('|'),
  'i',
);
const PLAIN: readonly number[] = [0, 1, 2];
const UNITS: readonly number[] = [60, 3600, 3.6, 100];

export interface Unsourced {
  /** Of a constant; of a number without a name the number as it is written. */
  readonly name: string;
  /** 1-based. */
  readonly line: number;
}

/** @param only if given, of the named constants these alone */
export function unsourcedIn(source: string, only?: ReadonlySet<string>): Unsourced[] {
  const file = ts.createSourceFile('x.ts', source, ts.ScriptTarget.Latest, true);
  const lineOf = (node: ts.Node): number => file.getLineAndCharacterOfPosition(node.getStart(file)).line + 1;
  let before = '';
  return file.statements.flatMap((statement) => {
    // What stands right below another, with no comment of its own above it, shares that of the other.
    const shares = /^[ \t]*(\/\/[^\n]*)?\n[ \t]*$/.test(source.slice(statement.pos, statement.getStart()));
    const about = `${shares ? before : ''}${commentsOf(statement, source)}`;
    before = about;
    const numbers = numbersOf(statement);
    const untold = (n: ts.Node): boolean => !TELLS.test(`${about} ${commentsAt(n, statement, source)}`);
    const nameless = numbers
      .filter((n) => n.within && !only)
      .map(({ node }) => ({ name: node.getText(), line: lineOf(node) }));
    const open = numbers.filter((n) => !n.within && untold(n.node)).map((n) => n.node);
    const holders: readonly ts.Node[] = ts.isVariableStatement(statement)
      ? statement.declarationList.declarations
      : [statement];
    const named = holders
      .filter((d) => open.some((n) => n.pos >= d.pos && n.end <= d.end))
      .map((d) => ({
        name: ts.isVariableDeclaration(d) ? d.name.getText() : open[0]!.getText(),
        line: lineOf(d),
      }))
      .filter((u) => only?.has(u.name) ?? true);
    return [...named, ...nameless];
  });
}

interface Found {
  readonly node: ts.Node;
  /** In a function or class. */
  readonly within: boolean;
}

/** What stands for a number that needs a source, in the order of the text. */
function numbersOf(node: ts.Node, within = false): Found[] {
  if (ts.isTypeNode(node) || ts.isInterfaceDeclaration(node) || ts.isTypeAliasDeclaration(node)) return [];
  if (ts.isFunctionLike(node) || ts.isClassLike(node)) within = true;
  const value = numberOf(node);
  if (value !== null) return isPlain(node, value) ? [] : [{ node, within }];
  const out: Found[] = [];
  ts.forEachChild(node, (child) => {
    out.push(...numbersOf(child, within));
  });
  return out;
}

/** Of what is made of literals alone; null of anything else. A text that is read as a number is one. */
function numberOf(node: ts.Node): number | null {
  if (ts.isNumericLiteral(node)) return Number(node.text.replaceAll('_', ''));
  if (ts.isBigIntLiteral(node)) return Number(node.text.slice(0, -1).replaceAll('_', ''));
  if (ts.isParenthesizedExpression(node)) return numberOf(node.expression);
  if (ts.isPrefixUnaryExpression(node)) {
    const value = numberOf(node.operand) ?? textOf(node.operand);
    if (value === null) return null;
    return node.operator === ts.SyntaxKind.MinusToken ? -value : value;
  }
  if (
    ts.isCallExpression(node) &&
    /^(Number|BigInt|(Number\.)?parse(Float|Int))$/.test(node.expression.getText())
  )
    return node.arguments[0] ? (numberOf(node.arguments[0]) ?? textOf(node.arguments[0])) : null;
  if (!ts.isBinaryExpression(node)) return null;
  const [a, b] = [numberOf(node.left), numberOf(node.right)];
  const calculate = CALCULATE[node.operatorToken.kind];
  return a === null || b === null || !calculate ? null : calculate(a, b);
}

const textOf = (node: ts.Node): number | null =>
  ts.isStringLiteralLike(node) && node.text.trim() !== '' && Number.isFinite(Number.parseFloat(node.text))
    ? Number.parseFloat(node.text)
    : null;

const CALCULATE: Partial<Record<ts.SyntaxKind, (a: number, b: number) => number>> = {
  [ts.SyntaxKind.PlusToken]: (a, b) => a + b,
  [ts.SyntaxKind.MinusToken]: (a, b) => a - b,
  [ts.SyntaxKind.AsteriskToken]: (a, b) => a * b,
  [ts.SyntaxKind.SlashToken]: (a, b) => a / b,
  [ts.SyntaxKind.AsteriskAsteriskToken]: (a, b) => a ** b,
};

const FACTORS: readonly ts.SyntaxKind[] = [ts.SyntaxKind.AsteriskToken, ts.SyntaxKind.SlashToken];

/** By itself, or added to another. */
function isIndex(node: ts.Node): boolean {
  const { parent } = node;
  if (ts.isBinaryExpression(parent) && parent.operatorToken.kind === ts.SyntaxKind.PlusToken)
    return isIndex(parent);
  return ts.isElementAccessExpression(parent) && parent.argumentExpression === node;
}

/** `Math.round(10 * x)`, `Math.round(x) / 10`, and the same of ceilings and floors. */
function rounds(node: ts.Node): boolean {
  if (/Math\.(round|ceil|floor)\(/.test(node.parent.getText())) return true;
  let at = node.parent;
  while (ts.isBinaryExpression(at) || ts.isParenthesizedExpression(at)) at = at.parent;
  return ts.isCallExpression(at) && /^Math\.(round|ceil|floor)$/.test(at.expression.getText());
}

const isThousands = (value: number): boolean =>
  Math.abs(Math.log10(value) / 3 - Math.round(Math.log10(value) / 3)) < 1e-9;

/** Made of units alone: `1e6 / 3600`. */
function ofUnits(node: ts.Node): boolean {
  if (ts.isBinaryExpression(node))
    return FACTORS.includes(node.operatorToken.kind) && ofUnits(node.left) && ofUnits(node.right);
  const value = numberOf(node);
  return value !== null && (UNITS.includes(Math.abs(value)) || isThousands(Math.abs(value)));
}

function isPlain(node: ts.Node, value: number): boolean {
  const { parent } = node;
  // 1 and 2 are limits where they have a name of their own.
  if (PLAIN.includes(Math.abs(value)))
    return value <= 0 || !ts.isVariableDeclaration(parent) || !/^[A-Z]/.test(parent.name.getText());
  if (isIndex(node)) return true;
  const operator = ts.isBinaryExpression(parent) ? parent.operatorToken.kind : null;
  const isFactor = operator !== null && FACTORS.includes(operator);
  if (Math.abs(value) === 0.5)
    return (
      isFactor ||
      operator === ts.SyntaxKind.PlusToken ||
      (ts.isCallExpression(parent) && /quantile$/.test(parent.expression.getText()))
    );
  if (operator === ts.SyntaxKind.AsteriskAsteriskToken && (parent as ts.BinaryExpression).right === node)
    return Number.isInteger(value);
  if (ts.isBinaryExpression(node)) return ofUnits(node);
  return isFactor && (ofUnits(node) || (Number.isInteger(Math.log10(value)) && rounds(node)));
}

const plainText = (comment: string): string => comment.replace(/\s*\n[\s*]*/g, ' ');

/** In front of the statement, and behind it on its last line. */
function commentsOf(statement: ts.Statement, source: string): string {
  const lineEnd = source.indexOf('\n', statement.end);
  const behind = source.slice(statement.end, lineEnd < 0 ? undefined : lineEnd);
  const leading = (ts.getLeadingCommentRanges(source, statement.pos) ?? []).filter(
    // a blank line between: the comment is of something else
    (c) => !/\n\s*\n/.test(source.slice(c.end, statement.getStart())),
  );
  return plainText([...leading.map((c) => source.slice(c.pos, c.end)), behind].join('\n'));
}

/** In front of the number or of what it is a part of, within the statement, and behind it on its line. */
function commentsAt(node: ts.Node, statement: ts.Statement, source: string): string {
  const lineEnd = source.indexOf('\n', node.end);
  const out = [
    source.slice(node.end, Math.min(lineEnd < 0 ? source.length : lineEnd)).match(/\/[/*].*/)?.[0] ?? '',
  ];
  for (let at = node; at.pos !== statement.pos; at = at.parent)
    for (const c of ts.getLeadingCommentRanges(source, at.pos) ?? []) out.push(source.slice(c.pos, c.end));
  return plainText(out.join('\n'));
}

/** Names that a module takes from others, by their path. */
function importsOf({ path, source }: Module): { path: string; name: string }[] {
  const file = ts.createSourceFile('x.ts', source, ts.ScriptTarget.Latest, true);
  return file.statements.filter(ts.isImportDeclaration).flatMap((i) => {
    const from = (i.moduleSpecifier as ts.StringLiteral).text;
    const names = i.importClause?.namedBindings;
    if (!from.startsWith('.') || !names || !ts.isNamedImports(names)) return [];
    return names.elements.map((e) => ({
      path: join(dirname(path), from),
      name: (e.propertyName ?? e.name).text,
    }));
  });
}

/**
 * What is unsourced in these modules: file, line and name, or the number where it has none.
 * @param read what stands elsewhere
 */
export function unsourced(modules: readonly Module[], read: (path: string) => string): string[] {
  const own = new Set(modules.map((m) => m.path));
  const taken = new Map<string, Set<string>>();
  for (const { path, name } of modules.flatMap(importsOf))
    if (!own.has(path)) taken.set(path, (taken.get(path) ?? new Set()).add(name));
  return [
    ...modules.flatMap(({ path, source }) => unsourcedIn(source).map((u) => `${path}:${u.line} ${u.name}`)),
    ...[...taken].flatMap(([path, names]) =>
      unsourcedIn(read(path), names).map((u) => `${path}:${u.line} ${u.name}`),
    ),
  ];
}
