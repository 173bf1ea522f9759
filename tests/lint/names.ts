/**
 * One meaning for each name. Lists names of numeric constants that stand more than once in the rooms given, and names of
 * types that are exported more than once.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import ts from 'typescript';

export interface Module {
  readonly path: string;
  readonly source: string;
}

export function modulesOf(root: string, folders: readonly string[]): Module[] {
  return folders
    .flatMap((folder) =>
      (readdirSync(join(root, folder), { recursive: true }) as string[]).map((f) => join(root, folder, f)),
    )
    .filter((f) => /\.tsx?$/.test(f) && !f.endsWith('.d.ts'))
    .sort()
    .map((f) => ({ path: relative(root, f), source: readFileSync(f, 'utf8') }));
}

/** As constants are written here; schemas and functions are not. */
const CONSTANT = /^[A-Z][A-Z\d_]*$/;

/** Numeric constants at the top level: the same name may not stand twice, whether its value is the same or not. */
export const twiceNumbers = (modules: readonly Module[]): string[] =>
  twice(modules, (statement) =>
    ts.isVariableStatement(statement) && statement.declarationList.flags & ts.NodeFlags.Const
      ? statement.declarationList.declarations.flatMap((d) =>
          ts.isIdentifier(d.name) && CONSTANT.test(d.name.text) && d.initializer && isNumeric(d.initializer)
            ? [d.name.text]
            : [],
        )
      : [],
  );

/** Exported types, interfaces and classes. */
export const twiceTypes = (modules: readonly Module[]): string[] =>
  twice(modules, (statement) =>
    (ts.isTypeAliasDeclaration(statement) ||
      ts.isInterfaceDeclaration(statement) ||
      ts.isClassDeclaration(statement)) &&
    statement.name &&
    statement.modifiers?.some((m) => m.kind === ts.SyntaxKind.ExportKeyword)
      ? [statement.name.text]
      : [],
  );

function twice(modules: readonly Module[], namesIn: (statement: ts.Statement) => string[]): string[] {
  const places = new Map<string, string[]>();
  for (const module of modules)
    for (const statement of parsed(module).statements)
      for (const name of namesIn(statement)) places.set(name, [...(places.get(name) ?? []), module.path]);
  return [...places]
    .filter(([, paths]) => paths.length > 1)
    .map(([name, paths]) => `${name}: ${paths.join(', ')}`);
}

/** Parsing takes most of the time. */
const trees = new WeakMap<Module, ts.SourceFile>();
function parsed(module: Module): ts.SourceFile {
  const known = trees.get(module);
  if (known) return known;
  const tree = ts.createSourceFile(module.path, module.source, ts.ScriptTarget.Latest, true);
  trees.set(module, tree);
  return tree;
}

/** A number, a calculation, or a list or table with numbers in it. */
function isNumeric(node: ts.Node): boolean {
  if (ts.isFunctionLike(node) || ts.isTypeNode(node)) return false;
  if (ts.isNumericLiteral(node)) return true;
  if (ts.isPropertyAccessExpression(node) && node.expression.getText() === 'Math') return true;
  if (ts.isBinaryExpression(node) && CALCULATES.includes(node.operatorToken.kind)) return true;
  return ts.forEachChild(node, (child) => isNumeric(child) || undefined) ?? false;
}

const CALCULATES: readonly ts.SyntaxKind[] = [
  ts.SyntaxKind.MinusToken,
  ts.SyntaxKind.AsteriskToken,
  ts.SyntaxKind.SlashToken,
  ts.SyntaxKind.AsteriskAsteriskToken,
];
