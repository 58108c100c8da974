import { shownDay } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import type { AccountPage } from '../../server/fees/service/accounts.ts';
import { Empty, Filter, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { AccountSearch, BackToFees, owesWords } from './parts.tsx';

interface Props {
  accounts: AccountPage;
  look: { words: string; onlyOwing: boolean; page: number };
  /** The class of whoever was put in none. */
  usualClass: string;
  reader: FeeReader;
}

export function AccountsPage({ accounts, look, usualClass, reader }: Props) {
  const { rows, count, pages, without } = accounts;
  return (
    <>
      <h1>Accounts</h1>
      <AccountSearch words={look.words} hidden={look.onlyOwing ? { owing: 'yes' } : {}} />
      <Filter
        label="Show"
        options={[
          { href: address({ ...look, onlyOwing: false, page: 1 }), label: 'All', current: !look.onlyOwing },
          {
            href: address({ ...look, onlyOwing: true, page: 1 }),
            label: 'Who owes',
            current: look.onlyOwing,
          },
        ]}
      />
      {rows.length === 0 ? (
        <Empty title="No account here">
          <p>An account is opened with the first charge, or below once you looked for somebody.</p>
        </Empty>
      ) : (
        <Panel>
          <Table
            caption={count === 1 ? 'One account' : `${count} accounts`}
            columns={[
              { label: 'Who', main: true, wraps: true },
              { label: 'Balance', number: true },
              { label: 'Overdue since', keepLabel: true },
              { label: 'Class', keepLabel: true },
            ]}
            rows={rows.map(({ account, balanceMinor, overdueSince }) => ({
              key: account.number,
              cells: [
                <a key="who" href={`/fees/accounts/${account.number}`}>
                  {account.name}
                </a>,
                owesWords(balanceMinor, reader.currency),
                overdueSince === null ? '' : shownDay(overdueSince),
                account.memberClass ?? usualClass,
              ],
            }))}
          />
        </Panel>
      )}
      {pages > 1 && (
        <nav class="row" aria-label="Pages">
          {look.page > 1 && (
            <a class="plain" href={address({ ...look, page: look.page - 1 })}>
              Page before
            </a>
          )}
          <span>
            Page {look.page} of {pages}
          </span>
          {look.page < pages && (
            <a class="plain" href={address({ ...look, page: look.page + 1 })}>
              Next page
            </a>
          )}
        </nav>
      )}
      {without.length > 0 && (
        <Panel title="Without an account yet">
          {without.map(({ kind, id, name }) => (
            <PlainAct
              key={`${kind}${id}`}
              post="/fees/accounts"
              idempotencyKey={`${reader.key}-${kind}-${id}`}
              fields={{ kind, id }}
              label={`Open an account for ${name}`}
            />
          ))}
        </Panel>
      )}
      {reader.may('fees.close') && (
        <p>
          <a href="/fees/reminders">Who is overdue, and reminders</a>
        </p>
      )}
      <BackToFees />
    </>
  );
}

function address({ words, onlyOwing, page }: Props['look']): string {
  const query = new URLSearchParams({
    ...(words && { words }),
    ...(onlyOwing && { owing: 'yes' }),
    ...(page > 1 && { page: String(page) }),
  }).toString();
  return query === '' ? '/fees/accounts' : `/fees/accounts?${query}`;
}
