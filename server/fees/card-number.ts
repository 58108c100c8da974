import { text } from '../core/forms.ts';

/**
 * Whether words hold what looks like the number of a payment card: 13 to 19 digits, however they are grouped, whose last
 * one is the check digit of the others. Any of a bank's own numbers looks so one time in ten.
 *
 * Source: ISO/IEC 7812-1, annex B (the formula of Luhn, modulus 10).
 */
export function holdsCardNumber(words: string): boolean {
  const runs = words.normalize('NFKC').match(/\d+(?:[\s.\-/_]{1,3}\d+)*/g) ?? [];
  return runs.some((run) => {
    const groups = run.match(/\d+/g) ?? [];
    return groups.some((_, first) => {
      let digits = '';
      for (const group of groups.slice(first)) {
        digits += group;
        if (digits.length > 19) return false;
        if (digits.length >= 13 && passesLuhn(digits)) return true;
      }
      return false;
    });
  });
}

/** Every second digit from the right counts twice, less 9 where that makes two digits; all sum to a multiple of ten. */
function passesLuhn(digits: string): boolean {
  let sum = 0;
  for (const [i, digit] of [...digits].reverse().entries()) {
    const twice = Number(digit) * (i % 2 === 1 ? 2 : 1);
    sum += twice > 9 ? twice - 9 : twice;
  }
  return sum % 10 === 0;
}

/** Words of at most so many letters that hold no card number: none is ever kept. */
export const cardlessText = (most: number) =>
  text(most).refine(
    (words) => !holdsCardNumber(words),
    'That looks like a card number. Never write one down.',
  );
