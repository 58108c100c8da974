import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketEvent } from '../../server/buckets/ledger.ts';
import { eventWords } from '../../server/buckets/sentences.ts';
import type { HistoryChoices, HistoryEvent } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { Beside, Field, Form, Select, Submit } from '../ui/field.tsx';
import { Empty, More, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { whoWords } from './ledger.tsx';

/** What a kind of event is called in a list to choose from. */
export const KIND_WORDS: Record<BucketEvent['kind'], string> = {
  reading: 'Readings',
  dipping: 'Dippings',
  stir: 'Stirs',
  addition: 'Additions',
  'draw-off': 'Taken out',
  level: 'Levels',
  flow: 'Flow',
  settling: 'Settling',
  additive: 'Drops for the flow',
  sieve: 'Sievings',
  service: 'In and out of use',
  'tag-hung': 'Tags hung',
  setup: 'Set-ups',
  recipe: 'Recipe changes',
  note: 'Notes and problems',
  void: 'Struck out',
};

const FIELDS = ['bucket', 'person', 'kind', 'from', 'to'];

interface HistoryPageProps {
  /** Newest first. */
  events: HistoryEvent[];
  next: string | null;
  choices: HistoryChoices;
  /** The filter as it was typed. */
  form: FormState;
  newest: boolean;
  mayExport: boolean;
  reader: Reader;
}

export function HistoryPage({ events, next, choices, form, newest, mayExport, reader }: HistoryPageProps) {
  const filtered = FIELDS.some((name) => form.typed[name]);
  return (
    <>
      <h1>History</h1>
      <p class="soft">What happened at every bucket, newest first. Nothing is ever erased.</p>
      <More summary="Filter" open={filtered}>
        <FilterForm choices={choices} form={form} />
      </More>
      {events.length === 0 ? (
        <Empty title={filtered ? 'Nothing like that is recorded' : 'Nothing is recorded yet'}>
          {filtered && (
            <p>
              <a href="/history">Show everything</a>
            </p>
          )}
        </Empty>
      ) : (
        <Panel>
          <Table
            columns={[
              { label: 'When' },
              { label: 'What', main: true },
              { label: 'Bucket' },
              { label: 'Who' },
            ]}
            rows={events.map((event) => ({
              key: `${event.code} ${event.number}`,
              struck: event.voidedBy !== null,
              cells: [
                shownTime(event.happenedAt, reader.now, reader.timeZone),
                <What event={event} reader={reader} />,
                <>
                  <a href={`/buckets/${event.code}`}>{event.bucketName}</a>{' '}
                  <span class="code">{event.code}</span>
                </>,
                whoWords(event),
              ],
            }))}
          />
        </Panel>
      )}
      <Pages
        newest={newest ? null : address('/history', form)}
        older={next === null ? null : address('/history', form, next)}
      >
        {mayExport && events.length > 0 && (
          <a class="plain" href={address('/history.csv', form)} hx-boost="false" download>
            {filtered ? 'These as a table file (CSV)' : 'All as a table file (CSV)'}
          </a>
        )}
      </Pages>
    </>
  );
}

function FilterForm({ choices, form }: { choices: HistoryChoices; form: FormState }) {
  return (
    <Form action="/history" method="get" form={form}>
      <Select
        name="bucket"
        label="Bucket"
        none="Every bucket"
        options={choices.buckets.map(({ code, name }) => ({ value: code, label: `${name} ${code}` }))}
        optional
      />
      <Beside>
        <Select
          name="person"
          label="Who"
          none="Everybody"
          options={choices.people.map((name) => ({ value: name, label: name }))}
          optional
        />
        <Select
          name="kind"
          label="What"
          none="Everything"
          options={Object.entries(KIND_WORDS).map(([value, label]) => ({ value, label }))}
          optional
        />
      </Beside>
      <Field type="date" name="from" label="First day" optional />
      <Field type="date" name="to" label="Last day" optional />
      <Submit label="Show" look="plain" />
    </Form>
  );
}

function What({ event, reader }: { event: HistoryEvent; reader: Reader }) {
  const { entry, struck } = event;
  const stirred = entry.kind === 'reading' && entry.pairedWith !== undefined ? 'Stirred. ' : '';
  return (
    <>
      {stirred}
      {struck ? `Struck out: ${eventWords(struck, reader.units)}` : eventWords(entry, reader.units)}
      {event.note && <small class="soft"> “{event.note}”</small>}
      {event.voidedBy !== null && <small> (struck out)</small>}
    </>
  );
}

function address(path: string, { typed }: FormState, after?: string): string {
  const query = new URLSearchParams();
  for (const name of FIELDS) {
    const value = [typed[name] ?? ''].flat().at(-1);
    if (value) query.set(name, value);
  }
  if (after !== undefined) query.set('after', after);
  return query.size > 0 ? `${path}?${query}` : path;
}
