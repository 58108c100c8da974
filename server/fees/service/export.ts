import type { Read } from '../../core/actor.ts';
import { type Cell, CSV_START, csvLines, type Decimal } from '../../core/csv.ts';
import { Invalid } from '../../core/errors.ts';
import { plainMoney } from '../../core/money.ts';
import { mustBeAllowed } from '../../core/policy.ts';
import { findStudio } from '../../core/session.ts';
import { fromStored } from '../events.ts';
import type { ExportWish } from '../export-form.ts';
import type { FeeSettings } from '../settings.ts';
import * as store from '../store/export.ts';
import { entryWords } from '../words.ts';
import { feeSettings } from './settings.ts';

// A file outlives every transaction, so none is held while it is sent. The ledger only grows and its numbers have no
// gaps: whatever is numbered up to the entry that was the newest when the file was asked for is one state of it.

/** Numbers of entries that are read at once; about so many lines are in memory, and no more are asked for unread. */
const CHUNK = 1000;

const CHARGES = [
  'number',
  'day',
  'month',
  'kind',
  'account',
  'name',
  'member class',
  'load',
  'kiln',
  'piece',
  'form',
  'firing',
  'cone',
  'width mm',
  'depth mm',
  'height mm',
  'litres',
  'price list',
  'line',
  'what',
  'net',
  'tax',
  'amount',
  'currency',
  'corrects',
  'struck out by',
  'note',
];

/**
 * Every entry of a period in order of number, amounts in the currency's own decimals, above zero where the payer owes
 * more. A strike-out takes the litres back that its firing counted. Sizes and the class of a
 * firing are those it was priced by; where an entry says none, they are as known now.
 *
 * @throws Invalid where the period ends before it begins
 */
export async function chargesCsv(read: Read, wish: ExportWish): Promise<AsyncIterable<string>> {
  const { span, line, money, currency, settings } = await begin(read, wish);
  return chunks(read, span, line(CHARGES), async (after) => {
    const rows = await store.chargeRows(read.tx, span, after, CHUNK);
    return rows.map((row) => {
      const payload = fromStored(row.payload);
      return line([
        row.number,
        row.day,
        row.period,
        row.kind,
        row.account,
        row.name,
        payload.memberClass ?? row.memberClass ?? settings.classes[0] ?? null,
        row.load,
        row.kiln,
        row.piece,
        row.form,
        row.firingKind,
        row.cone,
        payload.widthMm ?? row.widthMm,
        payload.depthMm ?? row.depthMm,
        payload.heightMm ?? row.heightMm,
        row.cm3 === null ? null : row.cm3 / 1000,
        row.tariff,
        row.line,
        payload.name ?? null,
        money(row.netMinor),
        money(row.taxMinor),
        money(row.amountMinor),
        currency,
        row.corrects,
        row.struckOutBy,
        row.note,
      ]);
    });
  });
}

const JOURNAL = [
  'date',
  'month',
  'entry',
  'account code',
  'account',
  'payer',
  'name',
  'debit',
  'credit',
  'currency',
  'text',
];

/**
 * The same entries as a double-entry journal: a line for each side, under the studio's own account codes. An entry's
 * debits are its credits. What came to nothing has no sides and no line.
 *
 * @throws Invalid where the period ends before it begins
 */
export async function journalCsv(read: Read, wish: ExportWish): Promise<AsyncIterable<string>> {
  const { span, line, money, currency, settings } = await begin(read, wish);
  return chunks(read, span, line(JOURNAL), async (after) => {
    const rows = await store.postingRows(read.tx, span, after, CHUNK);
    return rows.map((row) => {
      const own = row.accountKind === 'payer' ? 'receivable' : `${row.accountKind}:${row.key}`;
      const piece = row.piece === null ? null : { id: 0, number: row.piece, form: row.form ?? '' };
      return line([
        row.day,
        row.period,
        row.number,
        settings.codes[own] ?? own,
        own,
        row.account,
        row.name,
        row.amountMinor > 0n ? money(row.amountMinor) : null,
        row.amountMinor < 0n ? money(-row.amountMinor) : null,
        currency,
        entryWords({ ...row, piece, payload: fromStored(row.payload) }),
      ]);
    });
  });
}

const SUMMARY = [
  'by',
  'price list',
  'code',
  'name',
  'entries',
  'firings',
  'litres',
  'net',
  'tax',
  'charged',
  'paid',
  'change',
  'currency',
];

/**
 * What the entries of a period come to for each member, kiln and line of a price list, each block with its total, and
 * behind them what the ledger's postings come to and the difference, which is nothing.
 *
 * @throws Invalid where the period ends before it begins
 */
export async function summaryCsv(read: Read, wish: ExportWish): Promise<AsyncIterable<string>> {
  const { span, line, money, currency } = await begin(read, wish);
  const summary = await summarise(read, span);
  const amounts = (of: Amounts): Cell[] => [
    money(of.netMinor),
    money(of.taxMinor),
    money(of.netMinor + of.taxMinor),
    money(of.paidMinor),
    money(of.changeMinor),
    currency,
  ];
  const cells = (by: string, row: Block['rows'][number]): Cell[] => [
    by,
    row.tariff ?? null,
    row.code,
    row.name,
    row.entries,
    row.firings,
    row.cm3 / 1000,
    ...amounts({ ...row, changeMinor: changeOf(row) }),
  ];
  const lines = summary.blocks.flatMap(({ by, rows, total }) => [
    ...rows.map((row) => cells(by, row)),
    cells(by, { ...total, code: 'total', name: null }),
  ]);
  const whole = (summary.blocks[0] as Block).total;
  const difference = {
    netMinor: whole.netMinor - summary.ledger.netMinor,
    taxMinor: whole.taxMinor - summary.ledger.taxMinor,
    paidMinor: whole.paidMinor - summary.ledger.paidMinor,
    changeMinor: changeOf(whole) - summary.ledger.changeMinor,
  };
  const behind = (by: string, of: Amounts): Cell[] => [
    by,
    null,
    'total',
    null,
    null,
    null,
    null,
    ...amounts(of),
  ];
  return inOrder([
    CSV_START + line(SUMMARY),
    ...lines.map(line),
    line(behind('ledger', summary.ledger)),
    line(behind('difference', difference)),
  ]);
}

export interface Reconciled {
  entries: number;
  /** What the entries' amounts, the blocks of the summary and the payers' postings each come to. */
  entriesMinor: bigint;
  summaryMinor: Record<Block['by'], bigint>;
  ledgerMinor: bigint;
  debitMinor: bigint;
  creditMinor: bigint;
  agrees: boolean;
}

/**
 * The totals of the three files of a period, each counted in its own way.
 *
 * @throws Invalid where the period ends before it begins
 */
export async function reconcile(
  read: Read,
  wish: Pick<ExportWish, 'from' | 'to' | 'by'>,
): Promise<Reconciled> {
  const { span } = await begin(read, wish);
  const [{ entries, amountMinor: entriesMinor }, summary] = await Promise.all([
    store.entryTotal(read.tx, span),
    summarise(read, span),
  ]);
  const totals = summary.blocks.map(({ by, total }) => [by, changeOf(total)] as const);
  const { changeMinor: ledgerMinor, debitMinor, creditMinor } = summary.ledger;
  return {
    entries,
    entriesMinor,
    summaryMinor: Object.fromEntries(totals) as Reconciled['summaryMinor'],
    ledgerMinor,
    debitMinor,
    creditMinor,
    agrees:
      debitMinor === creditMinor &&
      entriesMinor === ledgerMinor &&
      totals.every(([, change]) => change === ledgerMinor),
  };
}

interface Amounts {
  netMinor: bigint;
  taxMinor: bigint;
  paidMinor: bigint;
  /** Of what payers owe. */
  changeMinor: bigint;
}

interface Block {
  by: 'member' | 'kiln' | 'line';
  rows: (store.SumRow & { tariff?: number | null })[];
  total: store.Sums;
}

interface Summary {
  blocks: Block[];
  ledger: Amounts & { debitMinor: bigint; creditMinor: bigint };
}

const changeOf = ({ netMinor, taxMinor, paidMinor }: store.Sums): bigint => netMinor + taxMinor + paidMinor;

async function summarise({ tx }: Read, span: store.Span): Promise<Summary> {
  const [member, kiln, line, sides] = await Promise.all([
    store.sumsByMember(tx, span),
    store.sumsByKiln(tx, span),
    store.sumsByLine(tx, span),
    store.postingTotals(tx, span),
  ]);
  const all = Object.entries({ member, kiln, line }) as [Block['by'], Block['rows']][];
  const upBy = (...kinds: string[]): bigint =>
    sides
      .filter(({ kind }) => kinds.includes(kind))
      .reduce((sum, { debitMinor, creditMinor }) => sum + debitMinor - creditMinor, 0n);
  return {
    blocks: all.map(([by, rows]) => ({ by, rows, total: rows.reduce(plus, NOTHING) })),
    ledger: {
      netMinor: -upBy('income', 'relief'),
      taxMinor: -upBy('tax'),
      paidMinor: -upBy('payment'),
      changeMinor: upBy('payer'),
      debitMinor: sides.reduce((sum, { debitMinor }) => sum + debitMinor, 0n),
      creditMinor: sides.reduce((sum, { creditMinor }) => sum + creditMinor, 0n),
    },
  };
}

const NOTHING: store.Sums = { entries: 0, firings: 0, cm3: 0, netMinor: 0n, taxMinor: 0n, paidMinor: 0n };

const plus = (a: store.Sums, b: store.Sums): store.Sums => ({
  entries: a.entries + b.entries,
  firings: a.firings + b.firings,
  cm3: a.cm3 + b.cm3,
  netMinor: a.netMinor + b.netMinor,
  taxMinor: a.taxMinor + b.taxMinor,
  paidMinor: a.paidMinor + b.paidMinor,
});

interface Begun {
  span: store.Span;
  line: (cells: Cell[]) => string;
  money: (minor: bigint) => Decimal;
  currency: string;
  settings: FeeSettings;
}

async function begin(read: Read, wish: ExportWish): Promise<Begun> {
  mustBeAllowed(read.actor, 'fees.export');
  const { from, to, by } = wish;
  if (to < from) throw new Invalid([{ path: 'to', message: 'Not before the first day.' }]);
  const [studio, settings, upTo] = await Promise.all([
    findStudio(read.tx),
    feeSettings(read),
    store.lastEntry(read.tx),
  ]);
  if (!studio) throw new Error('A studio that is not set up has no fees.');
  const { currency } = studio;
  return {
    span: { from, to, by, upTo },
    line: csvLines({
      delimiter: wish.delimiter ?? settings.delimiter,
      decimalMark: wish.decimal ?? settings.decimalMark,
    }),
    money: (minor) => ({ decimal: plainMoney(minor, currency) }),
    currency,
    settings,
  };
}

/** The heading, then part after part, each asked for when the one before has been taken. */
async function* chunks(
  read: Read,
  span: store.Span,
  heading: string,
  next: (after: number) => Promise<string[]>,
): AsyncGenerator<string> {
  yield CSV_START + heading;
  const found = await store.bounds(read.tx, span);
  if (!found) return;
  for (let after = found.first - 1; after < found.last; after += CHUNK) {
    const lines = await next(after);
    if (lines.length > 0) yield lines.join('');
  }
}

async function* inOrder(lines: string[]): AsyncGenerator<string> {
  yield lines.join('');
}
