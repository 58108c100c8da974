import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict } from '../../core/errors.ts';
import { studioTimeZone } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import type { FiringKind } from '../../ware/firing.ts';
import { fromStored, type NewPayload, pricedBy } from '../events.ts';
import { type EntryKind, type OwnAccount, periodFor, sidesOf } from '../ledger.ts';
import * as store from '../store/ledger.ts';

// For the use cases of fees, which have asked who may.

/** A payer's account: a person's, a household's or a class's. */
export type Payer = store.PayerRow;
/** Whose account it is. */
export interface Holder {
  kind: 'person' | 'group';
  id: number;
}

export interface NewEntry {
  kind: EntryKind;
  /** The payer. */
  accountId: number;
  /** What the net amount is for, or where money arrived. */
  against: OwnAccount;
  /** Above zero the payer owes more. */
  netMinor: bigint;
  taxMinor: bigint;
  happenedAt: Instant;
  /** Of dues, whose month is the one they are for. */
  period?: string | undefined;
  /** It stands in no month before this one: of a strike-out, the month of what it strikes out. */
  notBefore?: string | undefined;
  note?: string | undefined;
  voids?: number | undefined;
  about?: number | undefined;
  pieceId?: number | undefined;
  load?: number | undefined;
  kilnId?: number | undefined;
  firingKind?: FiringKind | undefined;
  cone?: string | undefined;
  tariffId?: number | undefined;
  line?: string | undefined;
  cm3?: number | undefined;
  payload?: NewPayload | undefined;
}

export interface Posted {
  id: number;
  number: number;
  period: string;
}

/**
 * Appends entries with their sides, numbered without gaps; each stands in the month it happened in, or in the first
 * that is open. Locks the books until the transaction ends.
 *
 * @throws Conflict for dues of a month that is closed
 */
export async function post(act: Act, entries: readonly NewEntry[]): Promise<Posted[]> {
  if (entries.length === 0) return [];
  const { tx, actor, now } = act;
  const books = await store.lockBooks(tx);
  const timeZone = await studioTimeZone(tx);
  const own = await ownAccountIds(act, entries);
  const rows: store.NewEntryRow[] = [];
  for (const [i, entry] of entries.entries()) {
    const { against, note, payload, period: asked, notBefore = '', ...columns } = entry;
    if (asked !== undefined && books.closedThrough !== null && asked <= books.closedThrough)
      throw new Conflict(`${asked} is closed: open it again first, or choose a later month.`);
    const day = toWallTime(entry.happenedAt, timeZone).slice(0, 10);
    let month = periodFor(day, books.closedThrough);
    if (month < notBefore) month = notBefore;
    rows.push({
      ...columns,
      number: books.lastEntry + 1 + i,
      period: asked ?? month,
      day,
      recordedAt: now,
      by: actor.id,
      tokenId: actor.tokenId,
      amountMinor: entry.netMinor + entry.taxMinor,
      noteId: await store.insertNote(tx, note),
      v: 1,
      payload: { because: [], ...payload, against },
    });
  }
  const ids = await store.insertEntries(tx, rows);
  const posted = rows.map(({ number, period }, i) => ({ id: ids[i] as number, number, period }));
  await store.insertPostings(
    tx,
    entries.flatMap(({ accountId, against, netMinor, taxMinor }, i) =>
      sidesOf(against, netMinor, taxMinor).map(({ account, amountMinor }, position) => ({
        entryId: ids[i] as number,
        position,
        accountId: account === 'payer' ? accountId : (own.get(account) as number),
        period: (posted[i] as Posted).period,
        amountMinor,
      })),
    ),
  );
  await store.updateBooks(tx, { lastEntry: books.lastEntry + rows.length });
  return posted;
}

/** Strikes an entry out in full, in the month that is open; dues charged ahead in their own. The reason is kept. */
export async function strikeOut(act: Act, entry: store.EntryRow, reason: string): Promise<Posted> {
  const payload = fromStored(entry.payload);
  const { accountId, netMinor, taxMinor, id, pieceId, load, kilnId, firingKind, cone, tariffId, line } =
    entry;
  const [posted] = await post(act, [
    {
      kind: 'void',
      accountId,
      against: payload.against as OwnAccount,
      netMinor: -netMinor,
      taxMinor: -taxMinor,
      happenedAt: act.now,
      notBefore: entry.period,
      voids: id,
      note: reason,
      pieceId: pieceId ?? undefined,
      load: load ?? undefined,
      kilnId: kilnId ?? undefined,
      firingKind: firingKind ?? undefined,
      cone: cone ?? undefined,
      tariffId: tariffId ?? undefined,
      line: line ?? undefined,
      payload: pricedBy(payload),
    },
  ]);
  return posted as Posted;
}

/** The accounts of these holders, in their order; whoever had none has one from now on. */
export async function payersFor(act: Act, holders: readonly Holder[]): Promise<Payer[]> {
  const known = await findPayers(act, holders);
  const missing = uniqueHolders(holders.filter((one) => !known.some(isOf(one))));
  if (missing.length > 0) {
    let { lastAccount } = await store.lockBooks(act.tx);
    // Somebody else may have made them before the books were ours.
    const since = await findPayers(act, missing);
    for (const one of missing.filter((each) => !since.some(isOf(each))))
      await store.insertPayer(act.tx, {
        number: ++lastAccount,
        personId: one.kind === 'person' ? one.id : null,
        groupId: one.kind === 'group' ? one.id : null,
        madeAt: act.now,
      });
    await store.updateBooks(act.tx, { lastAccount });
  }
  const all = missing.length > 0 ? await findPayers(act, holders) : known;
  return holders.map((one) => all.find(isOf(one)) as Payer);
}

/** The accounts that these holders have; none for whoever never owed anything. */
export async function findPayers(read: Read, holders: readonly Holder[]): Promise<Payer[]> {
  const of = (kind: Holder['kind']) => holders.filter((one) => one.kind === kind).map(({ id }) => id);
  return store.payersOf(read.tx, { personIds: of('person'), groupIds: of('group') });
}

const isOf =
  ({ kind, id }: Holder) =>
  (payer: Payer): boolean =>
    (kind === 'person' ? payer.personId : payer.groupId) === id;

const uniqueHolders = (holders: readonly Holder[]): Holder[] => [
  ...new Map(holders.map((one) => [`${one.kind} ${one.id}`, one])).values(),
];

async function ownAccountIds(act: Act, entries: readonly NewEntry[]): Promise<Map<string, number>> {
  const names = new Set<string>(['tax:tax', ...entries.map(({ against }) => against)]);
  const known = await store.ownAccounts(act.tx);
  const missing = [...names].filter((name) => !known.has(name));
  if (missing.length === 0) return known;
  await store.insertOwnAccounts(act.tx, missing, act.now);
  return store.ownAccounts(act.tx);
}
