import type { FormState } from '../../server/core/routes.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import type { Reconciled } from '../../server/fees/service/export.ts';
import { Beside, Field, Form, Select, Submit } from '../ui/field.tsx';
import { StateIcon } from '../ui/icons.tsx';
import { Filter, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { BackToFees, Money } from './parts.tsx';

export interface Preset {
  label: string;
  from: string;
  to: string;
}

interface Props {
  form: FormState;
  /** Null where what was asked is refused. */
  found: Reconciled | null;
  presets: Preset[];
  reader: FeeReader;
}

const FIELDS = ['from', 'to', 'by', 'delimiter', 'decimal'];

const FILES = [
  ['charges', 'Fees, an entry a line', 'Each piece, sale, credit and payment with size, price and tax.'],
  ['summary', 'Summary', 'Totals for each member, kiln and line of the price list, against the ledger.'],
  ['journal', 'Journal', 'Debits and credits under your account codes, for the bookkeeping.'],
] as const;

export function ExportPage({ form, found, presets, reader }: Props) {
  const { from, to } = form.typed;
  return (
    <>
      <h1>Export of fees</h1>
      <Filter
        label="Period"
        options={presets.map((preset) => ({
          label: preset.label,
          href: address('/fees/export', { ...form.typed, from: preset.from, to: preset.to }),
          current: preset.from === from && preset.to === to,
        }))}
      />
      <Form action="/fees/export" method="get" form={form}>
        <Beside>
          <Field type="date" name="from" label="First day" />
          <Field type="date" name="to" label="Last day" />
        </Beside>
        <Select
          name="by"
          label="Which entries"
          hint="A correction of a closed month stands in the month that was open."
          options={[
            { value: 'day', label: 'of these days' },
            { value: 'month', label: 'in the books of these months' },
          ]}
        />
        <Beside>
          <Select
            name="delimiter"
            label="Between cells"
            options={[
              { value: 'comma', label: 'comma' },
              { value: 'semicolon', label: 'semicolon' },
              { value: 'tab', label: 'tab' },
            ]}
          />
          <Select
            name="decimal"
            label="Before decimals"
            options={[
              { value: 'point', label: 'point' },
              { value: 'comma', label: 'comma' },
            ]}
          />
        </Beside>
        <Submit label="Show these" look="plain" />
      </Form>
      {found && <Files form={form} found={found} reader={reader} />}
      <BackToFees />
    </>
  );
}

function Files({ form, found, reader }: { form: FormState; found: Reconciled; reader: FeeReader }) {
  return (
    <>
      <Panel title="Files">
        <Table
          columns={[
            { label: 'File', main: true },
            { label: 'What is in it', wraps: true },
          ]}
          rows={FILES.map(([name, label, what]) => ({
            key: name,
            cells: [
              <a
                key={name}
                class="plain"
                href={address(`/fees/export/${name}.csv`, form.typed)}
                hx-boost="false"
                download
              >
                {label} (CSV)
              </a>,
              what,
            ],
          }))}
        />
      </Panel>
      <Panel title="Do they agree?">
        <p class="agreement">
          <StateIcon state={found.agrees ? 'ready' : 'do-not-use'} />
          {found.agrees
            ? `Yes: the three totals are the same, over ${entriesWords(found.entries)}.`
            : 'No. Do not hand these files on, and tell whoever looks after this server.'}
        </p>
        <Table
          caption="By how much what members owe changes"
          columns={[
            { label: 'Counted', main: true },
            { label: 'Total', number: true, keepLabel: true },
          ]}
          rows={[
            ['Fees, entry by entry', found.entriesMinor],
            ['Summary by member', found.summaryMinor.member],
            ['Summary by kiln', found.summaryMinor.kiln],
            ['Summary by price list', found.summaryMinor.line],
            ['Ledger', found.ledgerMinor],
          ].map(([label, minor]) => ({
            key: String(label),
            cells: [label, <Money key="total" minor={minor as bigint} reader={reader} />],
          }))}
        />
        <p>
          Debits in the journal: <Money minor={found.debitMinor} reader={reader} />. Credits:{' '}
          <Money minor={found.creditMinor} reader={reader} />.
        </p>
      </Panel>
      {found.entries === 0 && (
        <Notice title="Nothing in this period">
          <p>The files have a heading and no entries.</p>
        </Notice>
      )}
    </>
  );
}

const entriesWords = (count: number): string => (count === 1 ? 'one entry' : `${count} entries`);

function address(path: string, typed: FormState['typed']): string {
  const query = new URLSearchParams();
  for (const name of FIELDS) {
    const value = [typed[name] ?? []].flat().at(-1);
    if (value) query.set(name, value);
  }
  return `${path}?${query}`;
}
