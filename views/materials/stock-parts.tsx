import type { ComponentChildren } from 'preact';
import type { Typed } from '../../server/core/forms.ts';
import type { FormState } from '../../server/core/routes.ts';
import { massUnit } from '../../server/core/units.ts';
import { shownTime, toWallTime } from '../../server/core/wall-time.ts';
import type { StockReader } from '../../server/materials/actions/stock-reader.ts';
import type { LotNow, StockPage, StockRow } from '../../server/materials/service/index.ts';
import { KIND_WORDS, stockWords } from '../../server/materials/stock.ts';
import { Field, Form, NumberField, Select, Submit, TextArea } from '../ui/field.tsx';
import { Flash, More, Pages } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';

const DONE: Record<string, string> = {
  delivery: 'The delivery is in the ledger.',
  use: 'The use is in the ledger.',
  count: 'Counted. From now on that is what is there.',
  disposal: 'What was thrown away is in the ledger.',
  recall: 'The lot is recalled. Technicians and managers are told.',
  'recall-lifted': 'The lot may be used again.',
  reorder: 'The level is kept.',
  void: 'Struck out. The lot is reckoned anew without it.',
};

export function Done({ did }: { did: string | null }) {
  const words = did !== null && Object.hasOwn(DONE, did) ? DONE[did] : undefined;
  return words ? <Flash words={words} /> : null;
}

/** The figures that a yes is about. */
export const questioned = ({ what, lot, kg }: Typed): string => [what, lot, kg].join(' ');

/** What a form of this page does. */
export type StockAct = 'delivery' | 'use' | 'count' | 'disposal' | 'recall' | 'recall-lifted' | 'reorder';

interface ActFormProps {
  action: string;
  what: StockAct;
  summary: string;
  label: string;
  form: FormState;
  reader: StockReader;
  danger?: boolean;
  children: ComponentChildren;
}

const FRESH: FormState = { typed: {}, errors: [] };

/** One act of a page that has several: shut, unless it came back refused. */
export function ActForm({ action, what, summary, label, form, reader, danger, children }: ActFormProps) {
  const isThis = form.typed.what === what;
  const own = isThis ? form : FRESH;
  const confirm = own.doubtful ? questioned(own.typed) : undefined;
  return (
    <More summary={summary} open={isThis}>
      <Form
        action={action}
        form={own}
        id={what}
        idempotencyKey={`${reader.key}-${what}`}
        hidden={{ what, confirm }}
      >
        {children}
        <Submit
          label={own.doubtful ? 'Yes, it is right: record it' : label}
          look={danger ? 'plain danger' : 'do'}
        />
      </Form>
    </More>
  );
}

export const kilograms = (label: string, reader: StockReader, hint?: string) => (
  <NumberField name="kg" label={label} unit={massUnit(reader.units)} hint={hint} />
);

export const note = (label = 'Note', isOptional = true) => (
  <TextArea name="note" label={label} rows={2} maxlength={500} optional={isOptional} />
);

export const when = (reader: StockReader) => (
  <Field
    name="happenedAt"
    type="datetime-local"
    label="When, if not just now"
    hint={`Now is ${toWallTime(reader.now, reader.timeZone).replace('T', ' ')}.`}
    optional
  />
);

/** Which lot: those on hand, the newest first, then the others. */
export function WhichLot({ lots, reader }: { lots: LotNow[]; reader: StockReader }) {
  const ordered = [...lots].sort((a, b) => Number(b.onHandMg > 0) - Number(a.onHandMg > 0));
  return (
    <Select
      name="lot"
      label="Lot"
      none={ordered.length > 1 ? 'Choose the lot' : undefined}
      options={ordered.map(({ lot, onHandMg }) => ({
        value: lot,
        label: `${lot}, ${stockWords(onHandMg, reader.units)}`,
      }))}
    />
  );
}

interface RowsProps {
  stock: StockPage;
  /** Where the older rows are. */
  at: string;
  isNewest: boolean;
  /** On the page of one lot its name is not repeated. */
  isOneLot?: boolean;
  reader: StockReader;
}

/** The ledger, the row written last first; struck out ones stay, crossed through. */
export function StockRows({ stock, at, isNewest, isOneLot = false, reader }: RowsProps) {
  const { id, rows, next } = stock;
  if (rows.length === 0) return <p class="soft">Nothing recorded yet.</p>;
  return (
    <>
      <Table
        columns={[
          { label: 'What', main: true },
          ...(isOneLot ? [] : [{ label: 'Lot', keepLabel: true, wraps: true }]),
          { label: 'When' },
          { label: 'Who' },
          ...(reader.mayEdit ? [{ label: 'Wrong?' }] : []),
        ]}
        rows={rows.map((row) => ({
          key: row.number,
          struck: row.voidedBy !== null,
          cells: [
            <What row={row} stock={stock} reader={reader} />,
            ...(isOneLot ? [] : [row.lotName]),
            shownTime(row.happenedAt, reader.now, reader.timeZone),
            row.byToken ? `${row.by}, by token` : row.by,
            ...(reader.mayEdit
              ? [
                  row.kind !== 'void' && row.voidedBy === null ? (
                    <a class="plain num" href={`/materials/${id}/stock/${row.number}/void`}>
                      Strike out<span class="hidden-text"> number {row.number}</span>
                    </a>
                  ) : null,
                ]
              : []),
          ],
        }))}
      />
      <Pages newest={isNewest ? null : at} older={next === null ? null : `${at}?before=${next}`} />
    </>
  );
}

function What({ row, stock, reader }: { row: StockRow; stock: StockPage; reader: StockReader }) {
  const { number, kind, mg, batch, voids, voidedBy, note: words } = row;
  const isDoubtful = stock.doubts.get(row.lot)?.includes(number) && voidedBy === null;
  return (
    <>
      {KIND_WORDS[kind]}
      {voids !== null && ` number ${voids}`}
      {mg !== null && ` ${stockWords(mg, reader.units)}`}
      {batch !== null && (
        <>, {reader.seesBatches ? <a href={`/batches/${batch}`}>batch {batch}</a> : `batch ${batch}`}</>
      )}
      {words && <small class="soft"> “{words}”</small>}
      {voidedBy !== null && <small> (struck out)</small>}
      {isDoubtful && <small> (more than was there: count the lot)</small>}
    </>
  );
}
