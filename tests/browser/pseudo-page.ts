/** The page built with a pseudo-language in the place of German: what a third language needs is its words, nothing else. */
import type { Plugin } from 'vite';
import { page as english } from '../../src/words/en/page.ts';
import { meanings, more } from '../../src/words/en/page-more.ts';
import { pseudo } from '../words/pseudo.ts';

export function pseudoPlugin(): Plugin {
  const page = pseudo(english);
  const rest = pseudo({ ...english, messages: more }).messages;
  const codes = pseudo({ ...english, messages: meanings }).messages;
  return {
    name: 'pseudo-language',
    enforce: 'pre',
    load(id) {
      if (/\/words\/de\/page\.ts$/.test(id)) return `export const page = ${JSON.stringify(page)};`;
      if (/\/words\/de\/page-more\.ts$/.test(id))
        return `export const more = ${JSON.stringify(rest)}; export const meanings = ${JSON.stringify(codes)};`;
      return null;
    },
  };
}
