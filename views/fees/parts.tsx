import { moneyText } from '../../server/core/money.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';

/** An amount in figures that stand under each other. */
export function Money({ minor, reader }: { minor: bigint; reader: Pick<FeeReader, 'currency'> }) {
  return <span class="num">{moneyText(minor, reader.currency)}</span>;
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
    <details class="more">
      <summary>{summary}</summary>
      <ul class="plain-list">
        {lines.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
    </details>
  );
}

export function BackToFees() {
  return (
    <p>
      <a href="/fees">Back to fees</a>
    </p>
  );
}
