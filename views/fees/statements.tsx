import type { ComponentChildren } from 'preact';
import { moneyText } from '../../server/core/money.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { monthWords } from '../../server/fees/month-words.ts';
import type { Payer } from '../../server/fees/service/ledger.ts';
import type { Reminded } from '../../server/fees/service/reminders.ts';
import type { StatementListed, StatementPage } from '../../server/fees/service/statements.ts';
import { correctsOf, type Part, type TaxSum } from '../../server/fees/statement.ts';
import { type Entry, entryWords } from '../../server/fees/words.ts';
import { Facts, Filter, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { BackToFees, Because, balanceWords, Money, owesWords } from './parts.tsx';

interface ListProps {
  account: Payer;
  months: StatementListed[];
  reminded: Reminded | null;
  reader: FeeReader;
}

export function StatementsPage({ account, months, reminded, reader }: ListProps) {
  return (
    <>
      <h1>Statements of {account.name}</h1>
      <Panel>
        {months.length === 0 ? (
          <p>Nothing was ever charged or paid here.</p>
        ) : (
          <Table
            columns={[
              { label: 'Month', main: true },
              { label: 'State', keepLabel: true },
              { label: 'Entries', number: true, keepLabel: true },
              { label: 'At its end', number: true, keepLabel: true },
            ]}
            rows={months.map(({ period, isClosed, entries, closingMinor }) => ({
              key: period,
              cells: [
                <a href={`/fees/statements/${account.number}/${period}`}>{monthWords(period)}</a>,
                isClosed ? 'closed' : 'open, may still change',
                String(entries),
                <Money minor={closingMinor} reader={reader} />,
              ],
            }))}
          />
        )}
      </Panel>
      {reminded && (
        <p class="soft">
          Last reminded {shownTime(reminded.at, reader.now, reader.timeZone)}
          {reminded.by && ` by ${reminded.by}`}.
        </p>
      )}
      <p>
        <a href={`/fees/accounts/${account.number}`}>Back to the account</a>
      </p>
      <BackToFees />
    </>
  );
}

interface SheetProps {
  sheet: StatementPage;
  studio: string;
  reader: FeeReader;
}

export function StatementView({ sheet, studio, reader }: SheetProps) {
  const { account } = sheet;
  return (
    <>
      <p class="row screen-only">
        <button class="plain" type="button" data-print>
          Print
        </button>
        <a class="plain" href={`/fees/statements/${account.number}`}>
          Other months
        </a>
        <a class="plain" href={`/fees/accounts/${account.number}`}>
          The account
        </a>
      </p>
      <p class="soft screen-only">To keep it as a PDF, print it and choose “Save as PDF”.</p>
      <StatementSheet sheet={sheet} studio={studio} reader={reader} level={1} />
    </>
  );
}

const PART_TITLES: Record<Part, string> = {
  charges: 'Charges',
  credits: 'Credits',
  payments: 'Payments',
};

/** One statement, which begins a page of its own on paper. */
function StatementSheet({ sheet, studio, reader, level }: SheetProps & { level: 1 | 2 }) {
  const { account, period, statement, code } = sheet;
  const Heading = level === 1 ? 'h1' : 'h2';
  const closing = statement.closingMinor;
  const fired = statement.parts.charges.filter(({ firingKind }) => firingKind !== null);
  const others = statement.parts.charges.filter(({ firingKind }) => firingKind === null);
  const shown: { title: string; entries: Entry[] }[] = [
    { title: 'Firing', entries: fired },
    { title: fired.length > 0 ? 'Other charges' : PART_TITLES.charges, entries: others },
    { title: PART_TITLES.credits, entries: statement.parts.credits },
    { title: PART_TITLES.payments, entries: statement.parts.payments },
  ];
  return (
    <article class="statement" id={`account-${account.number}`}>
      <header class="statement-head">
        <p class="statement-from">{studio}</p>
        <Heading>
          Statement for {monthWords(period)} <span class="code">{code}</span>
        </Heading>
        <p class="statement-to">{account.name}</p>
        {!sheet.isClosed && <p class="soft">Open month: it may still change.</p>}
      </header>
      <p class="statement-line">
        <span>Balance when it began</span>
        <Money minor={statement.openingMinor} reader={reader} />
      </p>
      {shown.map(({ title, entries }) =>
        entries.length === 0 ? null : (
          <EntryTable key={title} title={title} entries={entries} sheet={sheet} reader={reader} />
        ),
      )}
      {shown.every(({ entries }) => entries.length === 0) && <p>Nothing was charged or paid this month.</p>}
      <dl class="statement-totals">
        <Total term="Charges" minor={statement.totals.charges} reader={reader} />
        <Total term="Credits" minor={statement.totals.credits} reader={reader} />
        <Total term="Payments" minor={statement.totals.payments} reader={reader} />
        <Total term="Balance at its end" minor={closing} reader={reader} isWhole />
      </dl>
      <Taxes taxes={statement.taxes} reader={reader} />
      <p class="statement-due">
        <b>
          {isTheirs(sheet, reader)
            ? balanceWords(closing, reader.currency)
            : owesWords(closing, reader.currency)}
        </b>
        {closing > 0n && `, due by ${shownDay(sheet.dueOn)}`}.
      </p>
      {closing > 0n && sheet.payWords !== '' && <p class="statement-pay">{sheet.payWords}</p>}
    </article>
  );
}

const isTheirs = ({ account }: StatementPage, { id }: FeeReader): boolean => account.personId === id;

function Total(props: { term: string; minor: bigint; reader: FeeReader; isWhole?: boolean }) {
  return (
    <div class={props.isWhole ? 'whole' : undefined}>
      <dt>{props.term}</dt>
      <dd>
        <Money minor={props.minor} reader={props.reader} />
      </dd>
    </div>
  );
}

function EntryTable({
  title,
  entries,
  sheet,
  reader,
}: {
  title: string;
  entries: Entry[];
  sheet: StatementPage;
  reader: FeeReader;
}) {
  const hasSize = entries.some(({ cm3 }) => cm3 !== null);
  return (
    <Table
      caption={title}
      columns={[
        { label: 'Day' },
        { label: 'What', main: true, wraps: true },
        ...(hasSize ? [{ label: 'Size', number: true, keepLabel: true }] : []),
        { label: 'No.', number: true, keepLabel: true },
        { label: 'Amount', number: true },
      ]}
      rows={entries.map((entry) => ({
        key: entry.number,
        struck: entry.voidedBy !== null,
        cells: [
          shownDay(entry.day),
          <What entry={entry} sheet={sheet} />,
          ...(hasSize ? [sizeWords(entry.cm3, reader)] : []),
          <a href={`/fees/entries/${entry.number}`}>{entry.number}</a>,
          <Money minor={entry.amountMinor} reader={reader} />,
        ],
      }))}
    />
  );
}

/** What an entry is and what it corrects, with a way to the month that stands in. */
function What({ entry, sheet }: { entry: Entry; sheet: StatementPage }) {
  const corrects = correctsOf(entry);
  const month = corrects === null ? undefined : sheet.earlier.get(corrects);
  const { load, kiln, note, voidedBy, payload } = entry;
  const from: ComponentChildren[] = [];
  if (load !== null) from.push(`load ${load}${kiln ? `, ${kiln.code}` : ''}`);
  if (corrects !== null)
    from.push(
      <>
        corrects <a href={`/fees/entries/${corrects}`}>entry {corrects}</a>
        {month !== undefined && (
          <>
            {' of '}
            <a href={`/fees/statements/${sheet.account.number}/${month}`}>{monthWords(month)}</a>
          </>
        )}
      </>,
    );
  if (voidedBy !== null) from.push(`struck out by entry ${voidedBy}`);
  if (note !== null) from.push(note);
  return (
    <>
      {entryWords(entry)}
      {from.length > 0 && (
        <small class="statement-more">
          {from.map((one, at) => (
            <>
              {at > 0 && '; '}
              {one}
            </>
          ))}
        </small>
      )}
      {/* On paper it would be a heading without its lines. */}
      {payload.because.length > 0 && (
        <div class="screen-only">
          <Because lines={payload.because} />
        </div>
      )}
    </>
  );
}

const CM3_PER_CUBIC_INCH = 16.387064;
const figures = new Intl.NumberFormat('en-GB', { maximumFractionDigits: 0 });

const sizeWords = (cm3: number | null, { units }: FeeReader): string => {
  if (cm3 === null) return '';
  return units === 'us' ? `${figures.format(cm3 / CM3_PER_CUBIC_INCH)} in³` : `${figures.format(cm3)} cm³`;
};

function Taxes({ taxes, reader }: { taxes: TaxSum[]; reader: FeeReader }) {
  if (taxes.length === 0) return null;
  return (
    <Facts
      items={taxes.map(({ percent, netMinor, taxMinor }) => [
        percent === null ? 'Tax' : `Tax ${percent} %`,
        `${moneyText(taxMinor, reader.currency)} on ${moneyText(netMinor, reader.currency)}`,
      ])}
    />
  );
}

interface AllProps {
  period: string;
  sheets: StatementPage[];
  count: number;
  page: number;
  pages: number;
  studio: string;
  reader: FeeReader;
}

/** Every statement of a month for printing, each on a page of its own. */
export function AllStatementsPage({ period, sheets, count, page, pages, studio, reader }: AllProps) {
  return (
    <>
      <div class="screen-only">
        <h1>All statements, {monthWords(period)}</h1>
        <p>
          {count === 1 ? 'One statement' : `${count} statements`}
          {pages > 1 && `, ${sheets.length} of them here`}. Each begins on a page of its own.
        </p>
        <p class="row">
          <button class="plain" type="button" data-print>
            Print
          </button>
          <a class="plain" href={`/fees/months/${period}`}>
            Back to {monthWords(period)}
          </a>
        </p>
        {pages > 1 && (
          <Filter
            label="Part"
            options={Array.from({ length: pages }, (_, at) => ({
              href: `/fees/months/${period}/statements?page=${at + 1}`,
              label: String(at + 1),
              current: at + 1 === page,
            }))}
          />
        )}
      </div>
      {sheets.map((sheet) => (
        <StatementSheet key={sheet.code} sheet={sheet} studio={studio} reader={reader} level={2} />
      ))}
    </>
  );
}
