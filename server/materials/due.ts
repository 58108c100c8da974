/** Something of the safety side that waits for somebody, as Today and the safety page list it. */
export interface SafetyDue {
  /** What it is about, in a few words: 'Cobalt carbonate'. */
  title: string;
  /** What is wrong, as a sentence. */
  what: string;
  act: { label: string; href: string };
}

const FEW = 2;

/** A card each while there are few; else one that names them and leads to their list. */
export function fewOrOne(
  cards: SafetyDue[],
  one: { title: string; label: string; href: string },
): SafetyDue[] {
  if (cards.length <= FEW) return cards;
  const names = [...new Set(cards.map(({ title }) => title))];
  return [
    {
      title: `${cards.length} ${one.title}`,
      what: `${names.join(', ')}.`,
      act: { label: one.label, href: one.href },
    },
  ];
}
