/** Two tags of glazes that must not share a load, and why. */
interface Rule {
  tagA: string;
  tagB: string;
  why: string;
}

/** Pieces that must not stand in one load together, and why. */
export interface TagConflict {
  numbers: number[];
  why: string;
}

/**
 * One conflict for each rule that these pieces break between them, with the numbers of all that carry either tag, in
 * ascending order. A piece that carries both tags itself breaks nothing: whoever glazed it chose that.
 */
export function conflictsAmong(
  pieces: readonly { number: number; tags: readonly string[] }[],
  rules: readonly Rule[],
): TagConflict[] {
  return rules.flatMap(({ tagA, tagB, why }) => {
    const a = pieces.filter(({ tags }) => tags.includes(tagA));
    const b = pieces.filter(({ tags }) => tags.includes(tagB));
    const apart = a.some((one) => b.some((other) => other.number !== one.number));
    if (!apart) return [];
    const numbers = [...new Set([...a, ...b].map(({ number }) => number))].sort((x, y) => x - y);
    return [{ numbers, why }];
  });
}
