import type { FormState } from '../../server/core/routes.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { monthAfter } from '../../server/fees/ledger.ts';
import { monthWords } from '../../server/fees/month-words.ts';
import { itemWords } from '../../server/fees/price-words.ts';
import type { StandingCharge } from '../../server/fees/service/dues.ts';
import type { Payer } from '../../server/fees/service/ledger.ts';
import type { Item } from '../../server/fees/tariff.ts';
import { Form, Select, Submit } from '../ui/field.tsx';
import { Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { BackToFees, Money, MonthSelect } from './parts.tsx';

interface Props {
  standing: StandingCharge[];
  payers: Payer[];
  /** Dues on today's price list. */
  items: Item[];
  months: { period: string; count: number; totalMinor: bigint }[];
  /** This month, 'YYYY-MM'. */
  month: string;
  form: FormState | undefined;
  /** Which form was refused. */
  which: 'down' | 'charge' | undefined;
  done: string | null;
  reader: FeeReader;
}

export function DuesPage({ standing, payers, items, months, month, form, which, done, reader }: Props) {
  const nameOf = (code: string) => items.find((item) => item.code === code)?.name ?? code;
  const running = standing.filter(({ untilPeriod }) => untilPeriod === null || untilPeriod >= month);
  const ended = standing.filter((one) => !running.includes(one));
  const ofClass = items.filter(({ memberClass }) => memberClass !== null);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Dues</h1>
      <p class="soft narrow">
        What somebody is charged every month: membership, a shelf. Charging a month twice charges nobody
        twice.
      </p>
      {items.length === 0 && (
        <Notice title="No dues on the price list">
          <p>Add an item of the kind “dues” to the next price list.</p>
        </Notice>
      )}
      {reader.may('fees.close') && items.length > 0 && (
        <Panel title="Charge a month">
          <Form
            action="/fees/dues/charge"
            form={which === 'charge' ? form : undefined}
            idempotencyKey={reader.key}
            id="charge"
          >
            <MonthSelect name="period" label="Month" value={month} newest={monthAfter(month)} count={4} />
            <Submit label="Charge dues for this month" />
          </Form>
        </Panel>
      )}
      {ofClass.length > 0 && (
        <Panel title="For a whole class">
          <ul>
            {ofClass.map((item) => (
              <li key={item.code}>
                {item.name}: {itemWords(item, reader.currency)}, for every {item.memberClass}
              </li>
            ))}
          </ul>
        </Panel>
      )}
      <Panel title="Put down for">
        {running.length === 0 ? (
          <p>Nobody is put down for anything.</p>
        ) : (
          <Table
            columns={[
              { label: 'Who', main: true, wraps: true },
              { label: 'For', wraps: true },
              { label: 'From', keepLabel: true },
              { label: 'Until', keepLabel: true },
              { label: 'End it' },
            ]}
            rows={running.map(({ id, account, item, fromPeriod, untilPeriod }) => ({
              key: id,
              cells: [
                <a key="who" href={`/fees/accounts/${account.number}`}>
                  {account.name}
                </a>,
                nameOf(item),
                monthWords(fromPeriod),
                untilPeriod === null ? 'further notice' : monthWords(untilPeriod),
                <form key="end" method="post" action={`/fees/dues/${id}/end`} hx-sync="drop">
                  <input type="hidden" name="key" value={`${reader.key}-${id}`} />
                  <input
                    type="hidden"
                    name="untilPeriod"
                    value={fromPeriod > month ? monthAfter(fromPeriod, -1) : month}
                  />
                  <button class="plain" type="submit">
                    {fromPeriod > month ? 'Take it back' : `End with ${monthWords(month)}`}
                  </button>
                </form>,
              ],
            }))}
          />
        )}
      </Panel>
      {reader.may('fees.charge') && items.length > 0 && (
        <Panel title="Put somebody down">
          <Form
            action="/fees/dues"
            form={which === 'down' ? form : undefined}
            idempotencyKey={reader.key}
            id="down"
          >
            <Select
              name="account"
              label="Account"
              none="Choose"
              hint="Whoever has none yet is found under Accounts, which opens one."
              options={payers.map(({ number, name }) => ({
                value: String(number),
                label: `${name} (${number})`,
              }))}
            />
            <Select
              name="item"
              label="For"
              none="Choose"
              options={items.map(({ code, name }) => ({ value: code, label: name }))}
            />
            <MonthSelect
              name="fromPeriod"
              label="From the month"
              value={month}
              newest={monthAfter(month, 12)}
              count={37}
            />
            <Submit label="Put them down" />
          </Form>
        </Panel>
      )}
      {months.length > 0 && (
        <Panel title="Charged">
          <Table
            columns={[
              { label: 'Month', main: true },
              { label: 'Charges', number: true, keepLabel: true },
              { label: 'Together', number: true, keepLabel: true },
            ]}
            rows={months.map(({ period, count, totalMinor }) => ({
              key: period,
              cells: [monthWords(period), count, <Money key="sum" minor={totalMinor} reader={reader} />],
            }))}
          />
        </Panel>
      )}
      {ended.length > 0 && (
        <More summary="Ended">
          <ul>
            {ended.map(({ id, account, item, fromPeriod, untilPeriod }) => (
              <li key={id}>
                {account.name}: {nameOf(item)}, {monthWords(fromPeriod)} to {monthWords(untilPeriod ?? month)}
              </li>
            ))}
          </ul>
        </More>
      )}
      <BackToFees />
    </>
  );
}
