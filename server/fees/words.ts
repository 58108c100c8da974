import type { Instant } from '../core/clock.ts';
import type { FiringKind } from '../ware/firing.ts';
import { upper } from '../ware/words.ts';
import type { EntryPayload } from './events.ts';
import type { EntryKind, IncomeKey, PaymentKey } from './ledger.ts';

/** An entry of the ledger as it is read: money in minor units, above zero its payer owes more. */
export interface Entry {
  id: number;
  number: number;
  kind: EntryKind;
  /** The month it stands in, 'YYYY-MM'. */
  period: string;
  /** Of the studio's calendar, when it happened. */
  day: string;
  happenedAt: Instant;
  recordedAt: Instant;
  by: { id: number; name: string };
  account: { id: number; number: number; name: string };
  amountMinor: bigint;
  netMinor: bigint;
  taxMinor: bigint;
  /** Numbers of entries: the one it strikes out, the one that strikes it out, the one it corrects. */
  voids: number | null;
  voidedBy: number | null;
  about: number | null;
  piece: { id: number; number: number; form: string } | null;
  load: number | null;
  kiln: { id: number; code: string } | null;
  firingKind: FiringKind | null;
  cone: string | null;
  tariffId: number | null;
  /** The number of the price list. */
  tariff: number | null;
  line: string | null;
  cm3: number | null;
  note: string | null;
  payload: EntryPayload;
}

export const HOW_WORDS: Record<PaymentKey, string> = {
  cash: 'cash',
  transfer: 'bank transfer',
  'card-terminal': 'card terminal',
};

/** What income is from, as people say it. */
export const INCOME_WORDS: Record<IncomeKey, string> = {
  firing: 'firings',
  glaze: 'glaze',
  clay: 'clay',
  card: 'firing cards',
  dues: 'dues and rent',
  hire: 'kiln hire',
  damage: 'damage',
  other: 'anything else',
};

const ACCOUNT_WORDS: Record<string, string> = {
  payers: 'Payers',
  receivable: 'Owed by payers',
  income: 'Income',
  tax: 'Tax',
  payment: 'Received',
  relief: 'Let off',
};

/** One of the studio's own accounts: 'income:firing' → 'Income: firing', 'tax:tax' → 'Tax' */
export function accountWords(account: string): string {
  const [kind = '', key = kind] = account.split(':');
  const words = ACCOUNT_WORDS[kind] ?? kind;
  return key === kind ? words : `${words}: ${key.replaceAll('-', ' ')}`;
}

const FIRING: Record<FiringKind, string> = {
  bisque: 'bisque',
  glaze: 'glaze',
  lustre: 'lustre',
  other: 'firing',
};

/** How a payment came, or money went back: 'bank transfer'. */
const howOf = ({ against }: EntryPayload): string =>
  HOW_WORDS[against.slice('payment:'.length) as PaymentKey] ?? '';

/** Units that a figure stands before without more ado. */
const MEASURES = ['kg', 'g', 'L', 'l', 'lb', 'qt', 'oz', 'h'];

/** 'Clear glaze, 1.2 kg', 'Buff clay, 2 × bag', 'Buff clay' for one. */
function itemWords({ name = '', quantity, unit = '' }: EntryPayload): string {
  if (quantity === undefined) return name;
  if (MEASURES.includes(unit)) return `${name}, ${quantity} ${unit}`;
  return quantity === '1' ? name : `${name}, ${quantity} × ${unit}`;
}

type Said = Pick<Entry, 'kind' | 'piece' | 'firingKind' | 'cone' | 'load' | 'about' | 'voids' | 'payload'>;

const pieceWords = ({ piece }: Said): string =>
  piece ? `${upper(piece.form)}, piece ${piece.number}` : 'A piece';

/** What an entry is, in a line: 'Cup, piece 128: bisque, cone 06'. */
export function entryWords(entry: Said): string {
  const { kind, firingKind, cone, about, voids, payload } = entry;
  switch (kind) {
    case 'firing':
      return `${pieceWords(entry)}: ${firingKind ? FIRING[firingKind] : 'firing'}${cone ? `, cone ${cone}` : ''}`;
    case 'sale':
    case 'dues':
      return itemWords(payload) || (kind === 'dues' ? 'Dues' : 'Sale');
    case 'charge':
      return itemWords(payload) || 'Charge';
    case 'damage':
      return itemWords(payload) || 'Damage';
    case 'credit':
      return about === null ? 'Credit' : `Credit for entry ${about}`;
    case 'loss-credit':
      return `${pieceWords(entry)}: credit, ruined or lost here`;
    case 'work-credit':
      return payload.quantity === undefined ? 'Work done' : `Work done, ${payload.quantity} h`;
    case 'payment':
      return `Payment, ${howOf(payload)}`;
    case 'refund':
      return `Money given back, ${howOf(payload)}`;
    case 'void':
      return voids === null ? 'Struck out' : `Entry ${voids} struck out`;
  }
}
