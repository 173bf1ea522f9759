/**
 * Where a number of the judging comes from. Lists named constants of a module whose numbers have neither a source nor
 * the admission that there is none in their comment.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import ts from 'typescript';

/** What a comment says that tells where its number is from, or that it is from nowhere. */
const TELLS =
  /\bchosen\b|common practice|no source|from memory|by definition|\b(ISO|SAE|KIT)\b|open drives?|simulated|\b(19|20)\d\d\b/i;
/** Neither limits nor tolerances: none, one, two, units of time and share; powers of ten likewise. */
const PLAIN: readonly number[] = [0, 1, 2, 60, 100, 3600];

export interface Unsourced {
  readonly name: string;
  /** 1-based. */
  readonly line: number;
}

export function unsourcedIn(source: string): Unsourced[] {
  const file = ts.createSourceFile('x.ts', source, ts.ScriptTarget.Latest, true);
  let before = '';
  return file.statements.flatMap((statement) => {
    // What stands right below another, with no comment of its own above it, shares that of the other.
    const shares = /^[ \t]*(\/\/[^\n]*)?\n[ \t]*$/.test(source.slice(statement.pos, statement.getStart()));
    const comments = `${shares ? before : ''}${commentsOf(statement, source)}`;
    before = comments;
    if (!ts.isVariableStatement(statement) || !(statement.declarationList.flags & ts.NodeFlags.Const))
      return [];
    return statement.declarationList.declarations
      .filter((d) => d.initializer && hasNumber(d.initializer) && !TELLS.test(comments))
      .map((d) => ({
        name: d.name.getText(file),
        line: file.getLineAndCharacterOfPosition(d.getStart(file)).line + 1,
      }));
  });
}

/** A number of its own: none in a function, none that is plain, a power of ten, or an index. */
function hasNumber(node: ts.Node): boolean {
  if (ts.isFunctionLike(node) || ts.isTypeNode(node) || ts.isElementAccessExpression(node)) return false;
  if (ts.isCallExpression(node) || ts.isNewExpression(node))
    return (node.arguments ?? []).some((a) => hasNumber(a));
  if (ts.isNumericLiteral(node)) {
    const value = Number(node.text.replaceAll('_', ''));
    return !PLAIN.includes(value) && !Number.isInteger(Math.log10(value));
  }
  return ts.forEachChild(node, (child) => hasNumber(child) || undefined) ?? false;
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

/** Every module of these folders of `src/`, with what is unsourced in it. */
export function unsourced(root: string, folders: readonly string[]): string[] {
  return folders
    .flatMap((folder) =>
      (readdirSync(join(root, folder), { recursive: true }) as string[]).map((f) => join(root, folder, f)),
    )
    .filter((f) => f.endsWith('.ts'))
    .sort()
    .flatMap((f) =>
      unsourcedIn(readFileSync(f, 'utf8')).map((u) => `${relative(root, f)}:${u.line} ${u.name}`),
    );
}
