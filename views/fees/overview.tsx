import { moneyText, plainMoney } from '../../server/core/money.ts';
import type { FormState } from '../../server/core/routes.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import type { Age } from '../../server/fees/allocation.ts';
import { monthWords } from '../../server/fees/month-words.ts';
import { type KilnMonthFigures, together } from '../../server/fees/overview.ts';
import type { Overview } from '../../server/fees/service/overview.ts';
import { Form, Submit } from '../ui/field.tsx';
import { Table } from '../ui/table.tsx';
import { MonthBars } from './month-bars.tsx';
import { BackToFees, Money, MonthSelect } from './parts.tsx';

interface Props {
  overview: Overview;
  form: FormState;
  /** This month, 'YYYY-MM'. */
  month: string;
  reader: FeeReader;
}

/** Five years of months to choose from. */
const OFFERED = 60;

/** What firing brings in against what it takes, and what is still to come in. */
export function OverviewPage({ overview, form, month, reader }: Props) {
  const { rows, unpaid, knowsEnergyPrice } = overview;
  return (
    <>
      <h1>Overview</h1>
      <Form action="/fees/overview" method="get" form={form}>
        <MonthSelect name="from" label="From month" value={overview.from} newest={month} count={OFFERED} />
        <MonthSelect name="to" label="To month" value={overview.to} newest={month} count={OFFERED} />
        <Submit label="Show" look="plain" />
      </Form>
      <p class="soft">For the studio’s own use, without tax. Its books are the treasurer’s.</p>
      <h2>Firing, month by month</h2>
      {rows.length === 0 ? (
        <p class="soft">Nothing was fired or charged in these months.</p>
      ) : (
        <>
          <MonthBars months={byMonth(rows)} currency={reader.currency} />
          {knowsEnergyPrice && rows.some(({ energyMinor }) => energyMinor === null) && (
            <p>Where a load’s energy is not known, the bar of that month holds wear alone.</p>
          )}
          {!knowsEnergyPrice && (
            <p>
              A kWh has no price here, so energy is left out. <a href="/kilns/settings">Set one</a>.
            </p>
          )}
          <Table
            caption="By month and kiln"
            columns={[
              { label: 'Month and kiln', main: true },
              { label: 'Loads', number: true, keepLabel: true },
              { label: 'Litres', number: true, keepLabel: true },
              { label: 'Income', number: true, keepLabel: true },
              { label: 'Given back', number: true, keepLabel: true },
              { label: 'Energy', number: true, keepLabel: true },
              { label: 'Wear', number: true, keepLabel: true },
              { label: 'Left', number: true, keepLabel: true },
              { label: 'A litre', number: true, keepLabel: true },
            ]}
            rows={[
              ...rows.map((row) => ({
                key: `${row.period} ${row.kiln.code}`,
                cells: [`${monthWords(row.period)}, ${row.kiln.name}`, ...figures(row, reader)],
              })),
              { key: 'all', cells: [<b key="all">Together</b>, ...figures(together(rows), reader)] },
            ]}
          />
        </>
      )}
      <h2>Unpaid</h2>
      {unpaid.length === 0 ? (
        <p class="soft">Nobody owes anything.</p>
      ) : (
        <Unpaid unpaid={unpaid} reader={reader} />
      )}
      <BackToFees />
    </>
  );
}

function figures(row: Omit<KilnMonthFigures, 'period' | 'kiln'>, reader: FeeReader) {
  const money = (minor: bigint | null) =>
    minor === null ? 'not known' : <Money minor={minor} reader={reader} />;
  return [
    String(row.loads),
    row.litres.toFixed(0),
    money(row.incomeMinor),
    money(row.creditMinor),
    money(row.energyMinor),
    money(row.wearMinor),
    money(row.marginMinor),
    row.perLitreMinor === null ? '' : <Money minor={row.perLitreMinor} reader={reader} />,
  ];
}

function byMonth(rows: KilnMonthFigures[]) {
  const periods = [...new Set(rows.map(({ period }) => period))];
  return periods.map((period) => {
    const all = together(rows.filter((row) => row.period === period));
    return {
      period,
      incomeMinor: all.incomeMinor - all.creditMinor,
      costMinor: (all.energyMinor ?? 0n) + all.wearMinor,
    };
  });
}

const ageWords = ({ fromDays, toDays }: Age): string => {
  if (fromDays === null) return 'Not due yet';
  return toDays === null ? `Over ${fromDays - 1} days` : `${fromDays} to ${toDays} days`;
};

function Unpaid({ unpaid, reader }: { unpaid: Overview['unpaid']; reader: FeeReader }) {
  const ages = unpaid[0]?.ages ?? [];
  const sums = ages.map((_, i) => unpaid.reduce((sum, one) => sum + (one.ages[i]?.openMinor ?? 0n), 0n));
  const all = sums.reduce((sum, one) => sum + one, 0n);
  const cell = (minor: bigint) => (minor === 0n ? '' : plainMoney(minor, reader.currency));
  return (
    <>
      <p>
        <b>{moneyText(all, reader.currency)}</b> is unpaid, by {unpaid.length}{' '}
        {unpaid.length === 1 ? 'account' : 'accounts'}.
      </p>
      <Table
        caption={`By days overdue, ${reader.currency}`}
        columns={[
          { label: 'Account', main: true, wraps: true },
          { label: 'Owes', number: true, keepLabel: true },
          ...ages.map((age) => ({ label: ageWords(age), number: true, keepLabel: true })),
        ]}
        rows={[
          ...unpaid.map(({ account, balanceMinor, ages: own }) => ({
            key: account.number,
            cells: [
              <a key="a" href={`/fees/accounts/${account.number}`}>
                {account.name}
              </a>,
              plainMoney(balanceMinor, reader.currency),
              ...own.map(({ openMinor }) => cell(openMinor)),
            ],
          })),
          {
            key: 'all',
            cells: [<b key="all">Together</b>, plainMoney(all, reader.currency), ...sums.map(cell)],
          },
        ]}
      />
    </>
  );
}
