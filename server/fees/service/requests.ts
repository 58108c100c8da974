import { z } from 'zod';
import type { Act, Read } from '../../core/actor.ts';
import type { Instant } from '../../core/clock.ts';
import { Conflict, Invalid, NotFound } from '../../core/errors.ts';
import { choice } from '../../core/forms.ts';
import { tell } from '../../core/messages.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { cardlessText } from '../card-number.ts';
import type { NewPayload } from '../events.ts';
import type { EntryKind, OwnAccount } from '../ledger.ts';
import { leftOf } from '../store/entries.ts';
import { insertNote, lockBooks, updateBooks } from '../store/ledger.ts';
import * as store from '../store/requests.ts';
import { type NewEntry, type Payer, post } from './ledger.ts';

export const decisionForm = z.strictObject({
  decision: choice(['yes', 'no']),
  word: cardlessText(300).optional(),
});

/** Something that waits for a manager's yes, or that was decided. */
export interface FeeRequest {
  number: number;
  kind: 'damage' | 'credit';
  account: { id: number; number: number; name: string };
  /** Above zero the payer would owe more. */
  amountMinor: bigint;
  why: string;
  because: string[];
  name: string | null;
  load: number | null;
  piece: number | null;
  by: { id: number; name: string };
  at: Instant;
  decision: 'yes' | 'no' | null;
  decidedBy: string | null;
  decidedAt: Instant | null;
  word: string | null;
  /** The number of what was written then. */
  entry: number | null;
}

/** How it is written once somebody says yes. */
interface Kept {
  kind: EntryKind;
  against: OwnAccount;
  taxMinor: number;
  happenedAt: Instant;
  tariffId?: number | undefined;
  line?: string | undefined;
  payload?: NewPayload | undefined;
  wordId?: number | null;
}

/** Puts an entry before the managers instead of writing it; answers the request's number. */
export async function ask(
  act: Act,
  payer: Payer,
  kind: FeeRequest['kind'],
  entry: NewEntry,
): Promise<number> {
  const { tx, actor, now } = act;
  const { lastRequest } = await lockBooks(tx);
  const number = lastRequest + 1;
  const { against, taxMinor, netMinor, happenedAt, tariffId, line, payload } = entry;
  const kept: Kept = {
    kind: entry.kind,
    against,
    taxMinor: Number(taxMinor),
    happenedAt,
    tariffId,
    line,
    payload,
  };
  await store.insertRequest(tx, {
    number,
    kind,
    accountId: payer.id,
    amountMinor: netMinor + taxMinor,
    noteId: (await insertNote(tx, entry.note ?? '')) as number,
    pieceId: entry.pieceId ?? null,
    load: entry.load ?? null,
    about: entry.about ?? null,
    by: actor.id,
    at: now,
    payload: kept,
  });
  await updateBooks(tx, { lastRequest: number });
  return number;
}

/** What waits, oldest first, and what was decided lately. */
export async function listRequests(read: Read): Promise<{ waiting: FeeRequest[]; decided: FeeRequest[] }> {
  mustBeAllowed(read.actor, 'fees.see-all');
  const [waiting, decided] = await Promise.all([
    store.listRequests(read.tx, { decided: false, limit: 200 }),
    store.listRequests(read.tx, { decided: true, limit: 50 }),
  ]);
  return { waiting: waiting.map(toRequest), decided: decided.map(toRequest) };
}

export async function findRequest(read: Read, number: number): Promise<FeeRequest> {
  mustBeAllowed(read.actor, 'fees.see-all');
  return toRequest(await rowOf(read, number));
}

/** A manager's yes, which writes it, or no, which needs a word; whoever asked is told. */
export async function decideRequest(
  act: Act,
  number: number,
  { decision, word }: z.output<typeof decisionForm>,
): Promise<void> {
  mustBeAllowed(act.actor, 'fees.decide');
  await store.lockRequest(act.tx, number);
  const row = await rowOf(act, number);
  const { request } = row;
  if (request.decision !== null) throw new Conflict(`${row.decidedBy} said ${request.decision} already.`);
  if (decision === 'no' && word === undefined)
    throw new Invalid([{ path: 'word', message: 'Say why not: whoever asked reads it.' }]);
  const kept = request.payload as Kept;
  await lockBooks(act.tx);
  if (
    decision === 'yes' &&
    request.about !== null &&
    -request.amountMinor > (await leftOf(act.tx, request.about))
  )
    throw new Conflict('Since then that charge was struck out, or too much of it was given back for this.');
  const [posted] =
    decision === 'no'
      ? []
      : await post(act, [
          {
            kind: kept.kind,
            accountId: request.accountId,
            against: kept.against,
            netMinor: request.amountMinor - BigInt(kept.taxMinor),
            taxMinor: BigInt(kept.taxMinor),
            happenedAt: kept.happenedAt,
            note: row.why,
            pieceId: request.pieceId ?? undefined,
            load: request.load ?? undefined,
            about: request.about ?? undefined,
            tariffId: kept.tariffId,
            line: kept.line,
            payload: kept.payload,
          },
        ]);
  await store.updateRequest(act.tx, request.id, {
    decision,
    decidedBy: act.actor.id,
    decidedAt: act.now,
    entryId: posted?.id ?? null,
    payload: { ...kept, wordId: await insertNote(act.tx, word) },
  });
  await tell(act, {
    personIds: [row.by.id],
    kind: 'fees',
    words: `${act.actor.name} said ${decision} to ${request.kind === 'damage' ? 'the damage charge' : 'the credit'} you asked for.`,
    href: `/fees/requests/${number}`,
  });
}

async function rowOf(read: Read, number: number): Promise<store.RequestRow> {
  const row = await store.requestByNumber(read.tx, number);
  if (!row) throw new NotFound('There is no such request.');
  return row;
}

function toRequest({ request, why, ...more }: store.RequestRow): FeeRequest {
  const { number, kind, amountMinor, load, at, decision, decidedAt } = request;
  const { payload } = request.payload as Kept;
  return {
    ...more,
    number,
    kind,
    amountMinor,
    why,
    because: payload?.because ?? [],
    name: payload?.name ?? null,
    load,
    at,
    decision,
    decidedAt,
  };
}
