import type { Read } from '../../core/actor.ts';
import { NotFound } from '../../core/errors.ts';
import { may, mustBeAllowed } from '../../core/policy.ts';
import { fromStored } from '../events.ts';
import * as store from '../store/entries.ts';
import { postingsOf } from '../store/ledger.ts';
import { accountWords, type Entry } from '../words.ts';

/**
 * Entries of the ledger, newest first: for technicians any, for anybody else those of accounts that are theirs.
 *
 * @param filter every part that is given must fit; `before` is an entry's number
 */
export async function listEntries(read: Read, filter: store.EntryFilter): Promise<Entry[]> {
  mustBeAllowed(read.actor, 'fees.own');
  const rows = await store.listEntries(read.tx, filter, reach(read));
  return rows.map(toEntry);
}

/** One entry by its number. Throws NotFound for one that does not concern whoever asks. */
export async function findEntry(read: Read, number: number): Promise<Entry> {
  const [entry] = await listEntries(read, { numbers: [number] });
  if (!entry) throw new NotFound('There is no such entry.');
  return entry;
}

/** Null: every account. */
export const reach = ({ actor }: Read): number | null => (may(actor.role, 'fees.see-all') ? null : actor.id);

function toEntry({ entry, accountNumber, accountName, by, ...more }: store.ListedEntry): Entry {
  const {
    accountId,
    by: byId,
    noteId: _,
    tokenId: __,
    kilnId: ___,
    pieceId: ____,
    v: _____,
    ...columns
  } = entry;
  return {
    ...columns,
    ...more,
    by: { id: byId, name: by },
    account: { id: accountId, number: accountNumber, name: accountName },
    payload: fromStored(entry.payload),
  };
}

/** The sides of an entry that was found for whoever asks: the payer's, and the studio's own accounts. */
export async function sidesOfEntry(
  read: Read,
  { id, account }: Pick<Entry, 'id' | 'account'>,
): Promise<{ name: string; amountMinor: bigint }[]> {
  mustBeAllowed(read.actor, 'fees.own');
  const sides = await postingsOf(read.tx, [id]);
  return sides.map(({ accountId, kind, key, amountMinor }) => ({
    name: accountId === account.id ? account.name : accountWords(`${kind}:${key}`),
    amountMinor,
  }));
}
