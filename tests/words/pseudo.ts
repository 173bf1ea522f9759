/** A language that nobody speaks, made from English: accented, and 40 % longer, as a wordy one may be. */
import type { Language } from '../../src/words/words.ts';

/** What stands for values, and what chooses: declarations, matches and their keys. */
export const PLACEHOLDER = /\.(?:input|local|match)[^{]*(?:\{\$[^{}]*\}[^{]*)?|\{[$#/][^{}]*\}|\{\{|\}\}/g;

const ACCENTED: Readonly<Record<string, string>> = Object.fromEntries(
  [...'aàeéiîoöuûnñcçsšyýzžAÀEÉIÎOÖUÛNÑCÇSŠ'].flatMap((letter, i, all) =>
    i % 2 === 0 ? [[letter, all[i + 1]!]] : [],
  ),
);

const accented = (text: string): string => [...text].map((c) => ACCENTED[c] ?? c).join('');

/** Every fifth word again, and a little more, until it is 40 % longer. */
function longer(text: string): string {
  const words = text.split(' ').filter((w) => /\p{L}{2}/u.test(w));
  if (words.length === 0) return text;
  const wanted = Math.ceil([...text].length * 1.4);
  let out = text.replace(/\s+$/, '');
  for (let k = 0; [...out].length < wanted; k++) {
    const more = words[k % words.length]!.replace(/[^\p{L}]/gu, '');
    out += ` ${more.slice(0, Math.max(2, wanted - [...out].length - 1))}`;
  }
  return out + (text.match(/\s+$/)?.[0] ?? '');
}

/** Texts between what stands for values are changed, values stay. */
function pseudoMessage(message: string): string {
  const parts: string[] = [];
  let at = 0;
  for (const found of message.matchAll(PLACEHOLDER)) {
    parts.push(changed(message.slice(at, found.index), found[0]), found[0]);
    at = found.index + found[0].length;
  }
  parts.push(changed(message.slice(at), ''));
  return parts.join('');

  function changed(text: string, next: string): string {
    // Between variants stand keys of the match, not words.
    if (next === '{{') return text;
    return longer(accented(text));
  }
}

export const pseudo = (of: Language): Language => ({
  ...of,
  lang: 'qps',
  messages: Object.fromEntries(
    Object.entries(of.messages).map(([id, message]) => [id, pseudoMessage(message)]),
  ),
});
