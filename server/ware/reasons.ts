/** Why a piece is given back to its owner. */
export const RETURN_WORDS = {
  foot: 'Glaze on the foot',
  'not-dry': 'Not dry yet',
  'too-big': 'Too big for our kilns',
  crack: 'It has a crack',
  other: 'Something else',
} as const;

/** What became of a piece that is lost. */
export const LOST_WORDS = {
  broken: 'It broke here',
  'not-found': 'Nobody finds it',
  'mixed-up': 'Somebody else took it',
  other: 'Something else',
} as const;

/** The reason in an event, in words; as it stands where no release knows it. */
export function reasonWords(reason: string): string {
  const known: Record<string, string> = { ...LOST_WORDS, ...RETURN_WORDS };
  return known[reason] ?? reason;
}
