import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { KilnReader } from '../../server/kilns/actions/kiln-reader.ts';
import { CARE_WORDS, type CareKind, careWords } from '../../server/kilns/care.ts';
import type { CareEntry, KilnNow } from '../../server/kilns/service/index.ts';
import { Beside, Check, Form, NumberField, Select, Submit, TextArea } from '../ui/field.tsx';
import { Filter, Pages } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { notNow } from './firing-parts.tsx';
import { CareCaution } from './kiln-parts.tsx';

interface ListProps {
  kiln: Pick<KilnNow, 'code'>;
  care: { entries: CareEntry[]; next: number | null };
  reader: KilnReader;
}

/** The care log, the newest entry first; struck out ones stay, crossed through. */
export function CareList({ kiln, care, reader }: ListProps) {
  return (
    <>
      <Table
        columns={[
          { label: 'What', main: true },
          { label: 'When' },
          { label: 'By' },
          ...(reader.mayEdit ? [{ label: 'Wrong?' }] : []),
        ]}
        rows={care.entries.map((entry) => ({
          key: entry.number,
          struck: entry.voidedBy !== null,
          cells: [
            <>
              {careWords(entry.kind, entry.payload)}
              {entry.voids !== null && ` (entry ${entry.voids})`}
              {entry.note !== null && `: ${entry.note}`}
            </>,
            shownTime(entry.happenedAt, reader.now, reader.timeZone),
            entry.by,
            ...(reader.mayEdit
              ? [
                  entry.voids === null && entry.voidedBy === null ? (
                    <a class="plain num" href={`/kilns/${kiln.code}/care/${entry.number}/void`}>
                      Strike out<span class="hidden-text"> entry {entry.number}</span>
                    </a>
                  ) : (
                    ''
                  ),
                ]
              : []),
          ],
        }))}
      />
      <Pages
        newest={null}
        older={care.next === null ? null : `/kilns/${kiln.code}?before=${care.next}`}
        olderWords="Older entries"
      />
    </>
  );
}

/** Elements grow in ohms as they age: the newest measurement beside the one before. */
export function OhmsTable({ entries, reader }: { entries: CareEntry[]; reader: KilnReader }) {
  const [last, before] = entries;
  const ohms = last?.payload.ohms;
  if (!last || !ohms) return null;
  const earlier = before?.payload.ohms;
  return (
    <>
      <h3>Ohms, {shownTime(last.happenedAt, reader.now, reader.timeZone)}</h3>
      <Table
        columns={[
          { label: 'Element from the top', main: true },
          { label: 'Ω', number: true, keepLabel: true },
          ...(earlier ? [{ label: 'before', number: true, keepLabel: true }] : []),
        ]}
        rows={ohms.map((value, i) => ({
          key: i,
          cells: [`Element ${i + 1}`, String(value), ...(earlier ? [String(earlier[i] ?? '')] : [])],
        }))}
      />
    </>
  );
}

const KINDS = Object.keys(CARE_WORDS) as CareKind[];

interface FormProps {
  kiln: KilnNow;
  kind: CareKind | null;
  form: FormState;
  /** How many elements were measured last time, to show as many fields. */
  elements: number;
  handsBelowC: number;
  reader: KilnReader;
}

/** First what was done, then the few fields of that. */
export function CareFormPage({ kiln, kind, form, elements, handsBelowC, reader }: FormProps) {
  const at = `/kilns/${kiln.code}`;
  const offered = KINDS.filter((one) =>
    kiln.service === 'in-service' ? one !== 'in-service' : one !== 'out-of-service',
  );
  return (
    <>
      <h1>Note care of {kiln.name}</h1>
      <CareCaution handsBelowC={handsBelowC} />
      <Filter
        label="What was done"
        options={offered.map((one) => ({
          href: `${at}/care?kind=${one}`,
          label: CARE_WORDS[one],
          current: one === kind,
        }))}
      />
      {kind && (
        <Form action={`${at}/care?kind=${kind}`} form={form} idempotencyKey={reader.key} hidden={{ kind }}>
          <h2>{CARE_WORDS[kind]}</h2>
          {kind === 'ohms' && <Ohms count={elements} />}
          {kind === 'shelf-cracked' && (
            <>
              <Beside>
                <Select
                  name="which"
                  label="Which"
                  options={[
                    { value: 'full', label: 'Full shelf' },
                    { value: 'half', label: 'Half shelf' },
                  ]}
                />
                <NumberField name="count" label="How many" value={1} />
              </Beside>
              <Check
                name="takeAway"
                label="Take them off the list of shelves"
                hint={`There are ${kiln.fullShelves} full and ${kiln.halfShelves} half ones. No new load is planned with them.`}
                checked
              />
            </>
          )}
          <TextArea
            name="note"
            label={kind === 'out-of-service' ? 'Cause' : kind === 'note' ? 'What' : 'Note'}
            hint={kind === 'out-of-service' ? 'Everybody reads it at the kiln.' : undefined}
            maxlength={1000}
            optional={kind !== 'out-of-service' && kind !== 'note'}
          />
          {notNow(form, reader)}
          <Submit label={kind === 'out-of-service' ? 'Take it out of service' : 'Note it'} />
        </Form>
      )}
      <p>
        <a href={at}>Back to {kiln.name}</a>
      </p>
    </>
  );
}

function Ohms({ count }: { count: number }) {
  return (
    <fieldset class="field lines pairs">
      <legend>Ohms, from the top</legend>
      <p class="hint">With the kiln unplugged. Leave the fields you do not need.</p>
      <Beside>
        {Array.from({ length: count }, (_, i) => (
          <NumberField
            key={`element ${i + 1}`}
            name="ohms"
            index={i}
            label={`Element ${i + 1}`}
            unit="Ω"
            optional
          />
        ))}
      </Beside>
    </fieldset>
  );
}

interface VoidProps {
  kiln: KilnNow;
  entry: CareEntry;
  form: FormState;
  reader: KilnReader;
}

export function VoidCarePage({ kiln, entry, form, reader }: VoidProps) {
  const at = `/kilns/${kiln.code}`;
  return (
    <>
      <h1>Strike out entry {entry.number}</h1>
      <p class="narrow">
        {careWords(entry.kind, entry.payload)}
        {entry.note !== null && `: ${entry.note}`}, {shownTime(entry.happenedAt, reader.now, reader.timeZone)}{' '}
        by {entry.by}. It stays in the log, crossed through; what it changed is as before.
      </p>
      <Form action={`${at}/care/${entry.number}/void`} form={form} idempotencyKey={reader.key}>
        <TextArea name="reason" label="What was wrong with it" maxlength={500} />
        <Submit label="Strike it out" />
      </Form>
      <p>
        <a href={at}>Back to {kiln.name}</a>
      </p>
    </>
  );
}
