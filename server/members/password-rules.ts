const SHORTEST = 12;
const LONGEST = 200;

/** What others can guess: the passwords that many people use, whose password it is, and where they work. */
export interface Guessable {
  isCommon: (password: string) => boolean;
  name: string;
  email: string;
  studio: string;
}

/** Why this may not be a password, as a sentence, or null. There are no rules about kinds of characters. */
export function passwordProblem(
  password: string,
  { isCommon, name, email, studio }: Guessable,
): string | null {
  const plain = password.normalize('NFC').toLowerCase();
  const characters = [...plain].length;
  if (characters < SHORTEST)
    return `At least ${SHORTEST} characters: a few words that make no sense do well.`;
  if (characters > LONGEST) return `At most ${LONGEST} characters.`;
  if (isCommon(plain)) return 'Many people use this password, so it is guessed first. Choose another.';
  if (ownPart(plain, [name, email, studio]).length < 6)
    return 'This is little more than a name or e-mail address that others here know. Choose another.';
  return null;
}

/** The letters and digits that are left when every word that others know is taken out, longest first. */
function ownPart(plain: string, known: string[]): string {
  const words = known
    .flatMap((text) =>
      text
        .normalize('NFC')
        .toLowerCase()
        .split(/[^\p{L}\p{N}]+/u),
    )
    .filter((word) => word.length >= 3)
    .sort((a, b) => b.length - a.length);
  return words.reduce((rest, word) => rest.replaceAll(word, ''), plain.replace(/[^\p{L}\p{N}]/gu, ''));
}
