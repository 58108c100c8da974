import type { ComponentChildren, VNode } from 'preact';
import type { FormState } from '../../server/core/routes.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { monthWords } from '../../server/fees/month-words.ts';
import { type Entry, entryWords } from '../../server/fees/words.ts';
import { Form, Submit, TextArea } from '../ui/field.tsx';
import { Facts, Flash, Links, More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Because, Money } from './parts.tsx';

interface Props {
  entry: Entry;
  sides: { name: string; amountMinor: bigint }[];
  /** Entries that give some of it back or put it right. */
  corrections: Entry[];
  /** Why whoever looks cannot strike it out; null where they can. */
  refusal: string | null;
  form: FormState;
  done: string | null;
  reader: FeeReader;
}

const link = (number: number) => <a href={`/fees/entries/${number}`}>entry {number}</a>;

export function EntryPage({ entry, sides, corrections, refusal, form, done, reader }: Props) {
  const { number, account, piece, load, kiln, tariff, payload, voids, voidedBy, about, note } = entry;
  const at = (when: number) => shownTime(when, reader.now, reader.timeZone);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>{entryWords(entry)}</h1>
      <p class="balance">
        <Money minor={entry.amountMinor} reader={reader} />
      </p>
      {voidedBy !== null && (
        <p>
          <b>Struck out</b> by {link(voidedBy)}: it does not count.
        </p>
      )}
      {note && <p>{note}</p>}
      <Because lines={payload.because} />
      <Facts
        items={[
          ['Number', number],
          ['Account', <a href={`/fees/accounts/${account.number}`}>{account.name}</a>],
          ['When', at(entry.happenedAt)],
          ['Written', `${at(entry.recordedAt)}, by ${entry.by.name}`],
          ['Counts in', monthWords(entry.period)],
          ...(entry.taxMinor === 0n
            ? []
            : [['Tax in it', <Money minor={entry.taxMinor} reader={reader} />] as [string, VNode]]),
          ...facts([
            ['Reference', payload.reference],
            ['Piece', piece && <a href={`/ware/${piece.number}`}>{piece.number}</a>],
            ['Load', load && <a href={`/kilns/loads/${load}`}>{load}</a>],
            ['Kiln', kiln?.code],
            ['Price list', tariff && <a href={`/fees/prices/${tariff}`}>{tariff}</a>],
            ['Strikes out', voids && link(voids)],
            ['About', about && link(about)],
          ]),
        ]}
      />
      {corrections.length > 0 && (
        <Panel title="What came after it">
          <ul class="plain-list">
            {corrections.map((one) => (
              <li key={one.number} class={one.voidedBy === null ? undefined : 'struck'}>
                <a href={`/fees/entries/${one.number}`}>{entryWords(one)}</a>,{' '}
                <Money minor={one.amountMinor} reader={reader} />, {shownDay(one.day)}
              </li>
            ))}
          </ul>
        </Panel>
      )}
      {reader.may('fees.see-all') && (
        <More summary="As the books hold it">
          <Table
            columns={[
              { label: 'Account', main: true },
              { label: 'Amount', number: true },
            ]}
            rows={sides.map(({ name, amountMinor }) => ({
              key: name,
              cells: [name, <Money key="m" minor={amountMinor} reader={reader} />],
            }))}
          />
        </More>
      )}
      {reader.may('fees.charge') && <StrikeOut {...{ entry, refusal, form, reader }} />}
      <Links
        label="Back"
        links={[
          [`/fees/accounts/${account.number}`, `Account of ${account.name}`],
          ...(reader.may('fees.credit') && entry.amountMinor > 0n && voidedBy === null && voids === null
            ? [[`/fees/accounts/${account.number}/credit?about=${number}`, 'Credit some of it'] as const]
            : []),
        ]}
      />
    </>
  );
}

function StrikeOut({ entry, refusal, form, reader }: Pick<Props, 'entry' | 'refusal' | 'form' | 'reader'>) {
  if (refusal !== null) return entry.kind === 'void' ? null : <p class="soft">{refusal}</p>;
  return (
    <More summary="Strike it out" open={form.errors.length > 0}>
      <Form action={`/fees/entries/${entry.number}/strike-out`} form={form} idempotencyKey={reader.key}>
        <TextArea name="reason" label="Why" hint="The payer reads it." rows={2} maxlength={300} />
        <Submit
          label="Strike it out"
          small="It stays in sight, and counts no more. Litres that came with it go back."
          look="plain danger"
        />
      </Form>
    </More>
  );
}

/** Only what there is to say. */
const facts = (items: [string, ComponentChildren][]): [string, ComponentChildren][] =>
  items.filter(([, value]) => value !== null && value !== undefined && value !== 0);
