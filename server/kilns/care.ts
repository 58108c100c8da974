export type CareKind =
  | 'elements'
  | 'relays'
  | 'thermocouple'
  | 'ohms'
  | 'vacuumed'
  | 'shelf-cracked'
  | 'kiln-washed'
  | 'out-of-service'
  | 'in-service'
  | 'note';

/** What an entry of a care log carries besides its note; which of it depends on its kind. */
export interface CarePayload {
  /** Element by element from the top. */
  ohms?: number[];
  which?: 'full' | 'half';
  count?: number;
  /** The cracked shelves were taken off the kiln's list. */
  takeAway?: boolean;
}

/** As a list of acts to choose from says it. */
export const CARE_WORDS: Record<CareKind, string> = {
  elements: 'Elements changed',
  relays: 'Relays changed',
  thermocouple: 'Thermocouple changed',
  ohms: 'Element ohms measured',
  vacuumed: 'Vacuumed',
  'shelf-cracked': 'Shelf cracked',
  'kiln-washed': 'Shelves kiln-washed',
  'out-of-service': 'Taken out of service',
  'in-service': 'Back in service',
  note: 'Something else',
};

/** An entry in words, with its figures: 'Element ohms measured: 1 12.4 Ω, 2 12.6 Ω'. */
export function careWords(
  kind: CareKind | 'void',
  { ohms, which, count = 1, takeAway }: CarePayload,
): string {
  if (kind === 'void') return 'Entry struck out';
  if (kind === 'note') return 'Noted';
  if (kind === 'ohms')
    return `${CARE_WORDS.ohms}, from the top: ${(ohms ?? []).map((value) => `${value} Ω`).join(', ')}`;
  if (kind === 'shelf-cracked') {
    const shelves = `${count} ${which ?? 'full'} ${count === 1 ? 'shelf' : 'shelves'} cracked`;
    return takeAway ? `${shelves}, taken off the list` : shelves;
  }
  return CARE_WORDS[kind];
}
