/**
 * Is what was read a vehicle identification number? ISO 3779 and 49 CFR 565, from memory: seventeen characters, capital
 * letters without I, O and Q, and digits; a check digit in the ninth place where the region asks for it.
 */

const CHARACTERS = /^[A-HJ-NPR-Z0-9]{17}$/;
const VALUES: Readonly<Record<string, number>> = Object.fromEntries(
  [...'0123456789']
    .map((c, i) => [c, i] as const)
    .concat(
      ['ABCDEFGH', 'JKLMNPR', 'STUVWXYZ'].flatMap((row, r) =>
        // J, K, L … begin with 1 again; P and R skip the places of the letters left out; S begins with 2.
        [...row].map((c, i) => [c, r === 2 ? i + 2 : c === 'P' ? 7 : c === 'R' ? 9 : i + 1] as const),
      ),
    ),
);
const WEIGHTS = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2] as const;

export function isVin(text: string): boolean {
  return CHARACTERS.test(text) && (!hasCheckDigit(text) || text[8] === checkDigit(text));
}

/** North America (1 to 5) and China (L) ask for one. */
function hasCheckDigit(text: string): boolean {
  return /^[1-5L]/.test(text);
}

function checkDigit(text: string): string {
  const sum = [...text].reduce((n, c, i) => n + (VALUES[c] ?? 0) * (WEIGHTS[i] ?? 0), 0);
  return sum % 11 === 10 ? 'X' : String(sum % 11);
}
