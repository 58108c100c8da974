// Which price list counts on which day. Days are 'YYYY-MM-DD' of the studio's calendar, which sort as text.

/** A price list that was put in force. */
export interface InForce {
  number: number;
  validFrom: string;
  /** The last day; null: until a later one begins. */
  validUntil: string | null;
  /** When it was put in force. */
  inForceAt: number;
}

/** Days that no list covers, both ends included. */
interface Gap {
  from: string;
  /** Null: for good. */
  until: string | null;
}

/** The day after, or so many days after. @param day 'YYYY-MM-DD' */
export function dayAfter(day: string, by = 1): string {
  return new Date(Date.parse(`${day}T12:00:00Z`) + by * 86_400_000).toISOString().slice(0, 10);
}

/**
 * The list that counts on a day: of those that cover it the one that began last, and of two that began on one day the
 * one put in force last. Null where none covers it.
 */
export function listOn<T extends InForce>(lists: readonly T[], day: string): T | null {
  const covering = lists.filter(
    ({ validFrom, validUntil }) => validFrom <= day && (validUntil === null || validUntil >= day),
  );
  return covering.reduce<T | null>((best, one) => (best === null || counts(one, best) ? one : best), null);
}

function counts(one: InForce, other: InForce): boolean {
  if (one.validFrom !== other.validFrom) return one.validFrom > other.validFrom;
  if (one.inForceAt !== other.inForceAt) return one.inForceAt > other.inForceAt;
  return one.number > other.number;
}

/** From which day to which one list counts, one after the other, oldest first; what no list covers is left out. */
export function timeline<T extends InForce>(
  lists: readonly T[],
): { list: T; from: string; until: string | null }[] {
  const edges = [
    ...new Set(
      lists.flatMap(({ validFrom, validUntil }) => [
        validFrom,
        ...(validUntil === null ? [] : [dayAfter(validUntil)]),
      ]),
    ),
  ].sort();
  const spans: { list: T; from: string; until: string | null }[] = [];
  edges.forEach((from, i) => {
    const next = edges[i + 1];
    const until = next === undefined ? null : dayAfter(next, -1);
    const list = listOn(lists, from);
    const last = spans.at(-1);
    if (list === null) return;
    if (last && last.list === list && last.until === dayAfter(from, -1)) last.until = until;
    else spans.push({ list, from, until });
  });
  return spans;
}

/** Days since the first list began that none covers; one without an end comes last. */
export function gaps(lists: readonly InForce[]): Gap[] {
  const spans = timeline(lists);
  const found: Gap[] = [];
  spans.forEach(({ until }, i) => {
    const next = spans[i + 1];
    if (until === null) return;
    if (!next) found.push({ from: dayAfter(until), until: null });
    else if (next.from > dayAfter(until))
      found.push({ from: dayAfter(until), until: dayAfter(next.from, -1) });
  });
  return found;
}
