import type { Act, Read } from '../../core/actor.ts';
import { record } from '../../core/audit.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { studioDay } from '../../core/session.ts';
import { shownDay } from '../../core/wall-time.ts';
import { lockBooks, updateBooks } from '../store/ledger.ts';
import * as store from '../store/tariffs.ts';
import type { Tariff } from '../tariff.ts';
import { tariffFaults, usualTariff } from '../tariff-form.ts';
import { dayAfter, gaps, type InForce, listOn } from '../timeline.ts';
import { feeFingerprint, feeSettings } from './settings.ts';

/** A version of the price list. */
export interface TariffNow {
  id: number;
  number: number;
  name: string;
  /** Days of the studio's calendar; the last one null: until a later list begins. */
  validFrom: string;
  validUntil: string | null;
  value: Tariff;
  /** Put in force: it is never changed again, whether or not its days have come. */
  isInForce: boolean;
  inForceAt: Instant | null;
  basedOn: number | null;
}

export interface TariffListed extends TariffNow {
  by: string;
  /** It counts today. */
  isToday: boolean;
}

const nowOf = (row: store.TariffRow): TariffNow => ({
  id: row.id,
  number: row.number,
  name: row.name,
  validFrom: row.validFrom,
  validUntil: row.validUntil,
  value: row.value,
  isInForce: row.inForceAt !== null,
  inForceAt: row.inForceAt,
  basedOn: row.basedOn,
});

/** The price list that counts on a day of the studio's calendar, 'YYYY-MM-DD'; null where none was in force. */
export async function tariffOn(read: Read, day: string): Promise<TariffNow | null> {
  mustBeAllowed(read.actor, 'fees.own');
  const list = listOn(await store.listsInForce(read.tx), day);
  const row = list && (await store.tariffByNumber(read.tx, list.number));
  return row && nowOf(row);
}

/** The month in which the first price list began, 'YYYY-MM'; null while none was put in force. */
export async function firstMonth({ tx }: Pick<Read, 'tx'>): Promise<string | null> {
  const days = (await store.listsInForce(tx)).map(({ validFrom }) => validFrom).sort();
  return days[0]?.slice(0, 7) ?? null;
}

/** A price list by its number. @throws NotFound, also for a draft that is not the actor's to see */
export async function findTariff(read: Read, number: number): Promise<TariffNow> {
  mustBeAllowed(read.actor, 'fees.own');
  const row = await store.tariffByNumber(read.tx, number);
  if (!row || (row.inForceAt === null && !may(read.actor.role, 'tariffs.edit')))
    throw new NotFound(`There is no price list ${number}.`);
  return nowOf(row);
}

/** Every version, newest first; drafts only for whoever may write them. */
export async function listTariffs(read: Read): Promise<TariffListed[]> {
  mustBeAllowed(read.actor, 'fees.own');
  const [rows, today] = await Promise.all([store.allTariffs(read.tx), studioDay(read)]);
  const all = rows.map(({ row, by }) => ({ ...nowOf(row), by }));
  const current = listOn(all.filter(isList), today);
  return all
    .filter(({ isInForce }) => isInForce || may(read.actor.role, 'tariffs.edit'))
    .map((one) => ({ ...one, isToday: one.number === current?.number }));
}

const isList = <T extends TariffNow>(one: T): one is T & InForce => one.inForceAt !== null;

/** What a price list is begun with: a version that there is, or one of the starts. */
export type Start = number | 'volume' | 'size' | 'cost';

/** A new draft, valid from tomorrow until somebody chooses. */
export async function beginTariff(act: Act, name: string, start: Start): Promise<number> {
  mustBeAllowed(act.actor, 'tariffs.edit');
  const from = typeof start === 'number' ? await findTariff(act, start) : null;
  const books = await lockBooks(act.tx);
  const number = books.lastTariff + 1;
  await store.insertTariff(act.tx, {
    number,
    name,
    validFrom: dayAfter(await studioDay(act)),
    value: from?.value ?? usualTariff(start as Exclude<Start, number>),
    basedOn: from?.number ?? null,
    madeBy: act.actor.id,
    madeAt: act.now,
    changedAt: act.now,
  });
  await updateBooks(act.tx, { lastTariff: number });
  await record(act, 'tariffs.new', `price list ${number}`, { start: String(start) });
  return number;
}

/** Of a draft, and of the classes that the fields of its forms are for: it changes when others change either. */
export const draftFingerprint = (
  { name, validFrom, validUntil, value }: TariffNow,
  classes: readonly string[],
): string => feeFingerprint([name, validFrom, validUntil, value, classes]);

/** What changes of a draft: any part of it. */
type TariffChange = Partial<Pick<TariffNow, 'name' | 'validFrom' | 'validUntil' | 'value'>>;

/**
 * Changes a draft.
 * @param change with the whole of what the list says where that changes
 * @param seen the fingerprint of the draft as the form showed it; null where none was shown
 * @throws NotFound; Conflict where it is in force, or somebody changed it since; Invalid for what does not go together, with paths into the list
 */
export async function changeTariff(
  act: Act,
  number: number,
  change: (before: TariffNow) => TariffChange,
  seen: string | null = null,
): Promise<void> {
  mustBeAllowed(act.actor, 'tariffs.edit');
  const row = await draft(act, number);
  const { classes } = await feeSettings(act);
  asSeen(
    row,
    classes,
    seen,
    'Somebody changed this draft since you opened it. Yours is below; save again to put it in place.',
  );
  const values = change(nowOf(row));
  if (values.value) {
    const faults = tariffFaults(values.value, classes);
    if (faults.length > 0) throw new Invalid(faults);
  }
  await store.updateTariff(act.tx, number, { ...values, changedAt: act.now });
  await record(act, 'tariffs.change', `price list ${number}`, { parts: Object.keys(values).join(', ') });
}

/** Throws a draft away. @throws NotFound; Conflict where it is in force */
export async function dropTariff(act: Act, number: number): Promise<void> {
  mustBeAllowed(act.actor, 'tariffs.edit');
  await draft(act, number);
  await store.deleteTariff(act.tx, number);
  await record(act, 'tariffs.drop', `price list ${number}`);
}

function asSeen(row: store.TariffRow, classes: readonly string[], seen: string | null, words: string): void {
  if (seen !== null && seen !== draftFingerprint(nowOf(row), classes)) throw new Conflict(words);
}

async function draft(act: Act, number: number): Promise<store.TariffRow> {
  const row = await store.lockTariff(act.tx, number);
  if (!row) throw new NotFound(`There is no price list ${number}.`);
  if (row.inForceAt !== null)
    throw new Conflict(`Price list ${number} is in force and stays as it is: make a new version of it.`);
  return row;
}

/**
 * Puts a draft in force: from then on it never changes.
 * @param seen the fingerprint of the draft as it was looked at; null where it was not
 * @throws Invalid for days in the past or days that no list would cover; Conflict where it is in force already, or
 *   somebody changed it since
 */
export async function putInForce(act: Act, number: number, seen: string | null = null): Promise<void> {
  mustBeAllowed(act.actor, 'tariffs.edit');
  // Two lists put in force at once could each be fine alone and leave a gap together.
  await lockBooks(act.tx);
  const row = await draft(act, number);
  const { classes } = await feeSettings(act);
  asSeen(row, classes, seen, 'Somebody changed this draft since you looked at it. Look again first.');
  const faults = [...tariffFaults(row.value, classes), ...(await dayFaults(act, row))];
  if (faults.length > 0) throw new Invalid(faults);
  await store.updateTariff(act.tx, number, { inForceAt: act.now, inForceBy: act.actor.id });
  await record(act, 'tariffs.in-force', `price list ${number}`, {
    from: row.validFrom,
    until: row.validUntil,
  });
}

/** Why a list with these days cannot be put in force as things stand; none: it can. */
export async function dayFaults(
  read: Read,
  { number, validFrom, validUntil }: Pick<TariffNow, 'number' | 'validFrom' | 'validUntil'>,
): Promise<{ path: string; message: string }[]> {
  const [lists, today] = await Promise.all([store.listsInForce(read.tx), studioDay(read)]);
  if (validUntil !== null && validUntil < validFrom)
    return [{ path: 'validUntil', message: 'It ends before it begins.' }];
  if (lists.length > 0 && validFrom < today)
    return [
      {
        path: 'validFrom',
        message: `From today, ${shownDay(today)}, at the earliest: what was fired before is charged by the list of its day.`,
      },
    ];
  const known = gaps(lists);
  const [gap] = gaps([...lists, { number, validFrom, validUntil, inForceAt: read.now }]).filter(
    ({ from, until }) => !known.some((one) => one.from <= from && isWithin(until, one.until)),
  );
  if (!gap) return [];
  const words =
    gap.until === null
      ? `No list would be in force from ${shownDay(gap.from)} on. Leave the last day empty, or put the next list in force first.`
      : `No list would be in force from ${shownDay(gap.from)} to ${shownDay(gap.until)}.`;
  return [{ path: gap.until === null || gap.from > validFrom ? 'validUntil' : 'validFrom', message: words }];
}

const isWithin = (until: string | null, limit: string | null): boolean =>
  limit === null || (until !== null && until <= limit);
