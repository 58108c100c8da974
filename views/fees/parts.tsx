import { moneyText } from '../../server/core/money.ts';
import { shownDay } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { monthAfter } from '../../server/fees/ledger.ts';
import { monthWords } from '../../server/fees/month-words.ts';
import { type Entry, entryWords } from '../../server/fees/words.ts';
import { Field, Form, Select, Submit } from '../ui/field.tsx';
import { More } from '../ui/panel.tsx';

/** An amount in figures that stand under each other. */
export function Money({ minor, reader }: { minor: bigint; reader: Pick<FeeReader, 'currency'> }) {
  return <span class="num">{moneyText(minor, reader.currency)}</span>;
}

/** What is owed in a sum, which falls below nothing where more was paid. */
export function Owed({ minor, reader }: { minor: bigint; reader: Pick<FeeReader, 'currency'> }) {
  return (
    <>
      <Money minor={minor} reader={reader} />
      {minor < 0n && ' (in credit)'}
    </>
  );
}

/** What a balance means for whoever has it. */
export function balanceWords(minor: bigint, currency: string): string {
  if (minor > 0n) return `You owe ${moneyText(minor, currency)}`;
  return minor < 0n ? `You have ${moneyText(-minor, currency)} in credit` : 'Nothing to pay';
}

/** The same of somebody else's account. */
export function owesWords(minor: bigint, currency: string): string {
  if (minor > 0n) return `Owes ${moneyText(minor, currency)}`;
  return minor < 0n ? `${moneyText(-minor, currency)} in credit` : 'Nothing to pay';
}

/** The arithmetic of a price, folded away. */
export function Because({ lines, summary = 'How it was worked out' }: { lines: string[]; summary?: string }) {
  if (lines.length === 0) return null;
  return (
    <More summary={summary}>
      <ul class="plain-list">
        {lines.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
    </More>
  );
}

/** Charges, credits and payments, each with why it is this much. */
export function Entries({ entries, reader }: { entries: Entry[]; reader: Pick<FeeReader, 'currency'> }) {
  return (
    <ul class="entries">
      {entries.map((entry) => (
        <li key={entry.number} class={entry.voidedBy === null ? undefined : 'struck'}>
          <a class="plain" href={`/fees/entries/${entry.number}`}>
            {entryWords(entry)}
          </a>
          <Money minor={entry.amountMinor} reader={reader} />
          <small>
            {shownDay(entry.day)}
            {entry.voidedBy !== null && ', struck out'}
            {entry.note && `. ${entry.note}`}
          </small>
          <Because lines={entry.payload.because} summary="Why this much" />
        </li>
      ))}
    </ul>
  );
}

interface MonthSelectProps {
  name: string;
  label: string;
  /** Chosen to begin with, 'YYYY-MM'; offered even where it lies outside. */
  value: string;
  /** The last month on offer, and how many of them. */
  newest: string;
  count: number;
}

/** A month from a list, the newest first. */
export function MonthSelect({ name, label, value, newest, count }: MonthSelectProps) {
  const months = Array.from({ length: count }, (_, at) => monthAfter(newest, -at));
  const offered = months.includes(value) ? months : [...months, value].sort().reverse();
  return (
    <Select
      name={name}
      label={label}
      value={value}
      options={offered.map((month) => ({ value: month, label: monthWords(month) }))}
    />
  );
}

/** Looks for an account by a part of its name. */
export function AccountSearch({ words, hidden }: { words?: string; hidden?: Record<string, string> }) {
  return (
    <Form action="/fees/accounts" method="get" hidden={hidden}>
      <Field
        name="words"
        type="search"
        label="Whose account"
        value={words}
        maxlength={60}
        autocomplete="off"
        optional
      />
      <Submit label="Find" look="plain" />
    </Form>
  );
}

export function BackToFees() {
  return (
    <p>
      <a href="/fees">Back to fees</a>
    </p>
  );
}
