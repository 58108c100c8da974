import { dayAfter } from './timeline.ts';

// What is paid by what: computed at every read, stored nowhere. Amounts are minor units.

/** An entry of one payer's account as far as it is allocated. */
export interface Allocated {
  number: number;
  /** Of the studio's calendar, when it happened: 'YYYY-MM-DD'. */
  day: string;
  /** The month it stands in: 'YYYY-MM'. */
  period: string;
  /** Above zero a charge, below zero a credit or a payment. */
  amountMinor: bigint;
  /** Number of the entry that it strikes out. */
  voids: number | null;
  /** Number of the entry that it is a credit of. */
  about: number | null;
}

/** A charge of which something is still owed. */
export interface OpenCharge {
  number: number;
  day: string;
  period: string;
  openMinor: bigint;
}

export interface Allocation {
  /** Oldest first; each above zero. */
  open: OpenCharge[];
  /** What was paid or credited beyond every charge; zero as long as anything is open. */
  creditMinor: bigint;
}

/**
 * Sets payments and credits against charges, oldest charge first. A credit of one entry goes to that entry as far as it
 * is open, the rest and every payment to the oldest. An entry that was struck out and its strike-out take no part.
 * The open amounts less the credit are the balance, whatever the entries.
 *
 * @param entries all of one payer's, in any order
 */
export function allocate(entries: readonly Allocated[]): Allocation {
  const struck = new Set(entries.flatMap(({ voids }) => (voids === null ? [] : [voids])));
  const valid = entries.filter(({ number, voids }) => voids === null && !struck.has(number));
  const charges = valid
    .filter(({ amountMinor }) => amountMinor > 0n)
    .map(({ number, day, period, amountMinor }) => ({ number, day, period, openMinor: amountMinor }))
    .sort((a, b) => (a.day === b.day ? a.number - b.number : a.day < b.day ? -1 : 1));
  const byNumber = new Map(charges.map((one) => [one.number, one]));
  let left = 0n;
  for (const { amountMinor, about } of valid) {
    if (amountMinor >= 0n) continue;
    const own = about === null ? undefined : byNumber.get(about);
    left += own ? settle(own, -amountMinor) : -amountMinor;
  }
  for (const charge of charges) left = settle(charge, left);
  return { open: charges.filter(({ openMinor }) => openMinor > 0n), creditMinor: left };
}

/** Takes as much off a charge as it has open; answers what is left over. */
function settle(charge: OpenCharge, minor: bigint): bigint {
  const taken = minor < charge.openMinor ? minor : charge.openMinor;
  charge.openMinor -= taken;
  return minor - taken;
}

const DAY_MS = 86_400_000;

/** The last day on which a charge of a month is not overdue: so many days after the month's last. */
export function dueOn(period: string, dueDays: number): string {
  const [year, month] = period.split('-').map(Number) as [number, number];
  return new Date(Date.UTC(year, month, 0) + dueDays * DAY_MS).toISOString().slice(0, 10);
}

/** Days that a charge of a month is overdue on a day; zero or less: not yet. */
const daysOverdue = (period: string, today: string, dueDays: number): number =>
  (Date.parse(today) - Date.parse(dueOn(period, dueDays))) / DAY_MS;

/** The first day on which the oldest of these was overdue; null where none is. */
export function overdueSince(
  open: readonly Pick<OpenCharge, 'period'>[],
  today: string,
  dueDays: number,
): string | null {
  const late = open.map(({ period }) => dueOn(period, dueDays)).filter((due) => due < today);
  const [first] = late.sort();
  return first === undefined ? null : dayAfter(first);
}

/** Up to how many days overdue an age reaches; the last has no end. Common practice, no source. */
const AGES = [0, 30, 60, 90, null] as const;

/** What is open by how long it has been overdue. */
export interface Age {
  /** Days overdue, first and last; null: not overdue, no end. */
  fromDays: number | null;
  toDays: number | null;
  openMinor: bigint;
}

/**
 * Open charges by age: not overdue yet, then 1 to 30, 31 to 60, 61 to 90 and more days.
 *
 * @param today of the studio's calendar
 * @param dueDays days after the end of its month until a charge is overdue
 */
export function agedBy(
  open: readonly Pick<OpenCharge, 'period' | 'openMinor'>[],
  today: string,
  dueDays: number,
): Age[] {
  const ages: Age[] = AGES.map((toDays, i) => ({
    fromDays: i === 0 ? null : (AGES[i - 1] as number) + 1,
    toDays,
    openMinor: 0n,
  }));
  for (const { period, openMinor } of open) {
    const late = daysOverdue(period, today, dueDays);
    const age = ages.find(({ toDays }) => toDays === null || late <= toDays);
    if (age) age.openMinor += openMinor;
  }
  return ages;
}
