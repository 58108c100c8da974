import { randomInt } from 'node:crypto';

// Codes for the day the phone is lost, written down beforehand. The first four letters say which of a person's codes it
// is and are kept as they are; the whole is kept as passwords are, since eight letters (39 bits) are too few for a plain hash.

/** How many there are in a set. */
export const SET_SIZE = 10;
/** Without those that are most often taken for another when they are copied by eye: I, L, O, U, 0 and 1. */
const LETTERS = 'ABCDEFGHJKMNPQRSTVWXYZ23456789';
const GROUPS = 3;
const GROUP = 4;

const someLetters = (): string =>
  Array.from({ length: GROUP }, () => LETTERS[randomInt(LETTERS.length)]).join('');

/** A set of codes such as 'K7QM-2RTX-WD9P', no two of which begin alike. */
export function newSet(): string[] {
  const beginnings = new Set<string>();
  while (beginnings.size < SET_SIZE) beginnings.add(someLetters());
  return [...beginnings].map((first) =>
    [first, ...Array.from({ length: GROUPS - 1 }, someLetters)].join('-'),
  );
}

/** A code as it was typed, in one piece; null: this cannot be one. */
export function asRecoveryCode(typed: string): { beginning: string; code: string } | null {
  const code = typed.toUpperCase().replace(/[\s-]/g, '');
  if (code.length !== GROUPS * GROUP || [...code].some((letter) => !LETTERS.includes(letter))) return null;
  return { beginning: code.slice(0, GROUP), code };
}
