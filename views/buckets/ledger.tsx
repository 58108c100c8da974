import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { Facts } from '../../server/buckets/ledger.ts';
import { doubtWords, eventWords } from '../../server/buckets/sentences.ts';
import type { BucketNow, LedgerEvent } from '../../server/buckets/service/index.ts';
import type { Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { Form, Submit, TextArea } from '../ui/field.tsx';
import { Notice, Pages } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { SubPage } from './parts.tsx';

interface LedgerTableProps {
  code: string;
  /** Newest first. */
  events: LedgerEvent[];
  facts: Facts;
  /** Numbers that the reader may strike out. */
  voidable: Set<number>;
  reader: Reader;
}

/** What happened, when, and who did it. A stir recorded with a reading stands in the reading's row. */
export function LedgerTable({ code, events, facts, voidable, reader }: LedgerTableProps) {
  const rows = events.filter(({ entry }) => !(entry.kind === 'stir' && entry.pairedWith !== undefined));
  if (rows.length === 0) return <p class="soft">Nothing recorded yet.</p>;
  return (
    <Table
      columns={[{ label: 'When' }, { label: 'What', main: true }, { label: 'Who' }, { label: 'Correct' }]}
      rows={rows.map((event) => ({
        key: event.number,
        struck: event.voided,
        cells: [
          shownTime(event.happenedAt, reader.now, reader.timeZone),
          <What event={event} events={events} facts={facts} reader={reader} />,
          whoWords(event),
          voidable.has(event.number) && !event.voided && event.entry.kind !== 'void' ? (
            <a href={`/buckets/${code}/events/${event.number}/void`}>
              Strike out<span class="hidden-text"> number {event.number}</span>
            </a>
          ) : null,
        ],
      }))}
    />
  );
}

/** Who recorded it, and by what if not on a screen of their own. */
export function whoWords({
  by,
  byToken,
  atTablet,
}: Pick<LedgerEvent, 'by' | 'byToken' | 'atTablet'>): string {
  if (atTablet) return `${by}, at the wall tablet`;
  return byToken ? `${by}, by token` : by;
}

interface WhatProps {
  event: LedgerEvent;
  events: LedgerEvent[];
  facts: Facts;
  reader: Reader;
}

function What({ event, events, facts, reader }: WhatProps) {
  const { entry } = event;
  const stirred = entry.kind === 'reading' && entry.pairedWith !== undefined ? 'Stirred. ' : '';
  const struck = entry.kind === 'void' ? events.find((e) => e.number === entry.voids) : undefined;
  const words = struck
    ? `Struck out: ${eventWords(struck.entry, reader.units)}`
    : eventWords(entry, reader.units);
  const doubt = doubtWords(facts, event.number);
  return (
    <>
      {stirred}
      {words}
      {event.note && <small class="soft"> “{event.note}”</small>}
      {event.voided && <small> (struck out)</small>}
      {!event.voided && !event.counts && <small class="soft"> unstirred: not used</small>}
      {doubt && <small> ({doubt})</small>}
    </>
  );
}

interface LedgerPageProps extends Omit<LedgerTableProps, 'code' | 'facts'> {
  bucket: BucketNow;
  next: number | null;
  newest: boolean;
  /** Batches that were in it at these events, each since its own. */
  batches: { batch: number; happenedAt: Instant }[];
}

export function LedgerPage({ bucket, events, next, newest, batches, voidable, reader }: LedgerPageProps) {
  const at = `/buckets/${bucket.code}/ledger`;
  return (
    <SubPage bucket={bucket} title="Ledger">
      <p class="soft">Nothing is ever erased: what was wrong is struck out and stays readable.</p>
      {batches.length > 0 && (
        <p>
          In it at these events:{' '}
          {batches.map(({ batch, happenedAt }, i) => (
            <>
              {i > 0 && '; '}
              {reader.technician ? <a href={`/batches/${batch}`}>batch {batch}</a> : `batch ${batch}`} since{' '}
              {shownTime(happenedAt, reader.now, reader.timeZone)}
            </>
          ))}
          . <a href={`/buckets/${bucket.code}/lots`}>Which lots are in it</a>
        </p>
      )}
      <LedgerTable
        code={bucket.code}
        events={events}
        facts={bucket.facts}
        voidable={voidable}
        reader={reader}
      />
      <Pages newest={newest ? null : at} older={next === null ? null : `${at}?before=${next}`}>
        <a class="plain" href={`/history?bucket=${bucket.code}`}>
          Filter, or take it away as a file
        </a>
      </Pages>
    </SubPage>
  );
}

interface StrikeOutPageProps {
  bucket: BucketNow;
  event: LedgerEvent;
  form: FormState;
  reader: Reader;
}

export function StrikeOutPage({ bucket, event, form, reader }: StrikeOutPageProps) {
  const { entry } = event;
  const paired = (entry.kind === 'reading' || entry.kind === 'stir') && entry.pairedWith !== undefined;
  return (
    <SubPage bucket={bucket} title="Strike out">
      <Notice title={eventWords(entry, reader.units)}>
        <p>
          {event.by}, {shownTime(event.happenedAt, reader.now, reader.timeZone)}
          {event.note && <> “{event.note}”</>}
        </p>
      </Notice>
      {event.voided ? (
        <p>This was struck out already.</p>
      ) : (
        <>
          <p>
            The bucket is reckoned anew without it.
            {paired && ' The stir recorded with the reading goes with it.'}
          </p>
          <Form
            action={`/buckets/${bucket.code}/events/${event.number}/void`}
            form={form}
            idempotencyKey={reader.key}
          >
            <TextArea
              name="reason"
              label="Why"
              hint="Wrong bucket, wrong number …"
              rows={2}
              maxlength={500}
            />
            <Submit label="Strike it out" />
          </Form>
        </>
      )}
    </SubPage>
  );
}
