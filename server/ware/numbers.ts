/** As many tags as anybody prints at once. */
export const MOST_NUMBERS = 60;

/** As many pieces as one form moves: a whole rack. */
export const MOST_TICKS = 300;

const LARGEST = 2 ** 31 - 1;

/**
 * Numbers of pieces as somebody types them, '12, 14-17 20': in their order, each once. Null where it is no such list,
 * a span runs backwards, or there are more than `MOST_NUMBERS`.
 */
export function numbersIn(typed: string): number[] | null {
  const parts = typed
    .replace(/\s*(?:-|–|to)\s*/g, '-')
    .split(/[\s,;]+/)
    .filter((part) => part !== '');
  const found = new Set<number>();
  for (const part of parts) {
    const match = /^([1-9]\d{0,9})(?:-([1-9]\d{0,9}))?$/.exec(part);
    if (!match) return null;
    const from = Number(match[1]);
    const to = Number(match[2] ?? match[1]);
    if (to < from || to > LARGEST || to - from >= MOST_NUMBERS) return null;
    for (let number = from; number <= to; number++) found.add(number);
    if (found.size > MOST_NUMBERS) return null;
  }
  return [...found];
}
