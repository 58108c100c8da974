import { moneyText } from '../../server/core/money.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { monthWords } from '../../server/fees/month-words.ts';
import { changeOf, type Preview, type PreviewRow, type PreviewSum } from '../../server/fees/preview.ts';
import { KIND_WORDS } from '../../server/fees/price-words.ts';
import type { TariffNow } from '../../server/fees/service/tariffs.ts';
import type { FiringKind } from '../../server/ware/firing.ts';
import { formWord } from '../../server/ware/presets.ts';
import { Empty, Filter, Links, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';

interface Props {
  list: TariffNow;
  /** Null: nothing was ever charged. */
  period: string | null;
  months: string[];
  result: Preview | null;
  /** Those of this page. */
  rows: PreviewRow[];
  pages: { at: number; count: number };
  reader: FeeReader;
}

/** What a draft would have charged for a month's firings, beside what was charged. */
export function PreviewPage({ list, period, months, result, rows, pages, reader }: Props) {
  const at = `/fees/prices/${list.number}`;
  const { currency } = reader;
  const address = (page: number) => `${at}/preview?month=${period}&page=${page}`;
  return (
    <>
      <h1>
        {list.name} on real pieces <span class="code">{list.number}</span>
      </h1>
      <p class="soft narrow">
        Firings that were charged, priced anew by this list. Nothing is charged by looking. Free litres cover
        what they covered then.
      </p>
      {months.length > 0 && (
        <Filter
          label="Month"
          options={months.map((month) => ({
            href: `${at}/preview?month=${month}`,
            label: monthWords(month),
            current: month === period,
          }))}
        />
      )}
      {!result || result.rows.length === 0 ? (
        <Empty title="No firing was charged then" />
      ) : (
        <>
          <Panel title="Together">
            <p class="price-total">
              {moneyText(result.total.beforeMinor, currency)} → {moneyText(result.total.afterMinor, currency)}
              <small>
                {result.total.count} {result.total.count === 1 ? 'firing' : 'firings'},{' '}
                {changeWords(result.total, currency)}
              </small>
            </p>
            {result.unpriced > 0 && (
              <p>▲ This list has no price for {result.unpriced} of them: they would stay uncharged.</p>
            )}
          </Panel>
          <div class="split">
            <Panel title="By kind">
              <Sums
                sums={result.byKind.map((sum) => ({
                  ...sum,
                  name: KIND_WORDS[sum.name as FiringKind] ?? sum.name,
                }))}
                currency={currency}
              />
            </Panel>
            <Panel title="By class">
              <Sums sums={result.byClass} currency={currency} />
            </Panel>
          </div>
          <div class="split">
            <Panel title="Rise most">
              <Pieces rows={result.risers} currency={currency} />
            </Panel>
            <Panel title="Fall most">
              <Pieces rows={result.fallers} currency={currency} />
            </Panel>
          </div>
          <Panel title="Every piece">
            <Pieces rows={rows} currency={currency} />
            {pages.count > 1 && (
              <>
                <p class="soft">
                  Page {pages.at} of {pages.count}. The sums above count all of them.
                </p>
                <Links
                  label="Pages"
                  links={[
                    ...(pages.at > 1 ? ([[address(pages.at - 1), 'Before']] as const) : []),
                    ...(pages.at < pages.count ? ([[address(pages.at + 1), 'Next']] as const) : []),
                  ]}
                />
              </>
            )}
          </Panel>
        </>
      )}
      {!list.isInForce && <PlainAct href={`${at}/in-force`} label="Put in force" />}
      <p>
        <a href={at}>Back to {list.name}</a>
      </p>
    </>
  );
}

function changeWords(sum: Pick<PreviewSum, 'beforeMinor' | 'afterMinor'>, currency: string): string {
  const change = changeOf(sum);
  if (change === 0n) return 'no change';
  return change > 0n ? `▲ ${moneyText(change, currency)} more` : `▼ ${moneyText(-change, currency)} less`;
}

const COLUMNS = [
  { label: 'Before', number: true, keepLabel: true },
  { label: 'After', number: true, keepLabel: true },
  { label: 'Change', number: true },
];

function Sums({ sums, currency }: { sums: PreviewSum[]; currency: string }) {
  return (
    <Table
      columns={[
        { label: 'What', main: true },
        { label: 'Firings', number: true, keepLabel: true },
        ...COLUMNS,
      ]}
      rows={sums.map((sum) => ({
        key: sum.name,
        cells: [
          sum.name,
          sum.count,
          moneyText(sum.beforeMinor, currency),
          moneyText(sum.afterMinor, currency),
          changeWords(sum, currency),
        ],
      }))}
    />
  );
}

function Pieces({ rows, currency }: { rows: PreviewRow[]; currency: string }) {
  if (rows.length === 0) return <p>None.</p>;
  return (
    <Table
      columns={[
        { label: 'Piece', main: true, wraps: true },
        { label: 'Firing' },
        { label: 'Litres', number: true, keepLabel: true },
        ...COLUMNS,
      ]}
      rows={rows.map((row) => ({
        key: `${row.load} ${row.piece}`,
        cells: [
          <a key="piece" href={`/ware/${row.piece}`}>
            {formWord(row.form)} {row.piece}
          </a>,
          `${KIND_WORDS[row.kind]}, cone ${row.cone}`,
          (row.cm3 / 1000).toFixed(1),
          moneyText(row.beforeMinor, currency),
          row.isUnpriced ? 'no price' : moneyText(row.afterMinor, currency),
          changeWords(row, currency),
        ],
      }))}
    />
  );
}
