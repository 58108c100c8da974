import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import { lastRecord, record } from '../../core/audit.ts';
import { DAY, type Instant } from '../../core/clock.ts';
import { Conflict } from '../../core/errors.ts';
import { count } from '../../core/forms.ts';
import { tell } from '../../core/messages.ts';
import { moneyText } from '../../core/money.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { studioDay, theStudio } from '../../core/session.ts';
import { dueOn, overdueSince } from '../allocation.ts';
import { type OpenOfMonth, openByMonth } from '../store/open-charges.ts';
import { lockReminders } from '../store/statements.ts';
import { balances, readersOfAccount } from './accounts.ts';
import type { Payer } from './ledger.ts';
import { feeSettings } from './settings.ts';

/** Nobody is reminded of the same account more often. Common practice, no source. */
const APART = 7 * DAY;

const subjectOf = (number: number): string => `account:${number}`;

export interface Reminded {
  at: Instant;
  by: string | null;
}

/** When an account was last reminded of what is overdue, and by whom; null: never. */
export async function lastReminder(read: Read, accountNumber: number): Promise<Reminded | null> {
  mustBeAllowed(read.actor, 'fees.see-all');
  const found = await lastRecord(read.tx, 'fees.reminded', subjectOf(accountNumber));
  return found && { at: found.at, by: found.by };
}

/** A payer who should have paid. */
export interface Overdue {
  account: Payer;
  balanceMinor: bigint;
  /** The part of it that is overdue. */
  overdueMinor: bigint;
  /** First day on which the oldest of it was. */
  since: string;
  reminded: Reminded | null;
  /** False within seven days of the last reminder. */
  mayRemind: boolean;
}

/** Payers of whom something is overdue, the longest first. */
export async function listOverdue(read: Read): Promise<Overdue[]> {
  mustBeAllowed(read.actor, 'fees.see-all');
  const [standing, { dueDays }, today] = await Promise.all([
    balances(read),
    feeSettings(read),
    studioDay(read),
  ]);
  const isLate = ({ period }: OpenOfMonth) => dueOn(period, dueDays) < today;
  const owing = standing.filter(({ balanceMinor }) => balanceMinor > 0n);
  const open = await openByMonth(
    read.tx,
    owing.map(({ account }) => account.id),
  );
  const found: Overdue[] = [];
  for (const { account, balanceMinor } of owing) {
    const months = open.get(account.id) ?? [];
    const since = overdueSince(months, today, dueDays);
    if (since === null) continue;
    const reminded = await lastReminder(read, account.number);
    const overdueMinor = months.filter(isLate).reduce((sum, { openMinor }) => sum + openMinor, 0n);
    const mayRemind = reminded === null || read.now - reminded.at >= APART;
    found.push({ account, balanceMinor, overdueMinor, since, reminded, mayRemind });
  }
  return found.sort((a, b) => (a.since < b.since ? -1 : a.since > b.since ? 1 : 0));
}

/** No account: everybody who is overdue and was not reminded lately. */
export const remindForm = z.strictObject({ account: count(1, 2 ** 31 - 1).optional() });

/**
 * Tells one payer, or every one, what is overdue; answers how many were told.
 *
 * @throws Conflict where nobody may be reminded: nothing is overdue, or they were within seven days
 */
export async function remind(act: Act, { account }: z.output<typeof remindForm>): Promise<number> {
  mustBeAllowed(act.actor, 'fees.close');
  await lockReminders(act.tx);
  const all = await listOverdue(act);
  const wanted = account === undefined ? all : all.filter((one) => one.account.number === account);
  const now = wanted.filter(({ mayRemind }) => mayRemind);
  if (now.length === 0)
    throw new Conflict(
      wanted.length > 0 ? 'Reminded within the last seven days already.' : 'Nothing is overdue here.',
    );
  const { currency } = await theStudio(act.tx);
  for (const { account: payer, overdueMinor } of now) {
    await tell(act, {
      personIds: await readersOfAccount(act, payer),
      kind: 'reminder',
      words: `${moneyText(overdueMinor, currency)} ${payer.personId === null ? `of ${payer.name} ` : ''}is overdue. Please pay it, or tell the studio what is wrong with it.`,
      href: `/fees/accounts/${payer.number}`,
    });
    await record(act, 'fees.reminded', subjectOf(payer.number), { minor: Number(overdueMinor) });
  }
  return now.length;
}
