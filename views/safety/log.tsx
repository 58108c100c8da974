import type { FormState } from '../../server/core/routes.ts';
import { shownTime, toWallTime } from '../../server/core/wall-time.ts';
import type { LogReader } from '../../server/safety/actions/log-reader.ts';
import { ENTRY_KINDS, figureWords, KINDS } from '../../server/safety/log.ts';
import type { Entry } from '../../server/safety/service/log-read.ts';
import { Beside, Check, Field, Form, Select, Submit } from '../ui/field.tsx';
import { Empty, More, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act } from '../ui/verdict.tsx';
import { LATER_WORDS } from './log-entry.tsx';
import { BackToSafety, EntryAbout, EntryLink, EntryState } from './log-parts.tsx';
import { Caution } from './parts.tsx';

const FIELDS = ['kind', 'open', 'from', 'to', 'withoutHealth'];
/** Characters of what was written that a list shows. */
const SHORT = 160;

interface LogProps {
  /** Newest first. */
  entries: Entry[];
  next: number | null;
  /** The filter as it was typed. */
  form: FormState;
  isNewest: boolean;
  reader: LogReader;
}

export function LogPage({ entries, next, form, isNewest, reader }: LogProps) {
  const isFiltered = FIELDS.some((name) => form.typed[name]);
  return (
    <>
      <h1>Safety log</h1>
      <p class="soft narrow">
        Nothing is ever erased; corrections are added.{' '}
        {reader.keeps
          ? 'You see all of it.'
          : 'You see what you wrote, and all that is not about somebody’s health.'}
      </p>
      <Act href="/safety/log/new" label="Something happened" />
      <More summary="Filter" open={isFiltered}>
        <Form action="/safety/log" method="get" form={form}>
          <Select
            name="kind"
            label="What"
            none="Everything"
            options={ENTRY_KINDS.map((kind) => ({ value: kind, label: KINDS[kind].words }))}
            optional
          />
          <Check name="open" label="Only what is not closed" />
          <Period />
          <Submit label="Show these" look="plain" />
        </Form>
      </More>
      {form.errors.length > 0 ? null : entries.length === 0 ? (
        <Empty title={isFiltered ? 'Nothing like that is in the log' : 'Nothing is in the log yet'}>
          {isFiltered && (
            <p>
              <a href="/safety/log">Show everything</a>
            </p>
          )}
        </Empty>
      ) : (
        <LogTable entries={entries} reader={reader} />
      )}
      <Pages
        newest={isNewest ? null : address('/safety/log', form)}
        older={next === null ? null : address('/safety/log', form, next)}
      >
        {reader.keeps && (
          <>
            <a class="plain" href={address('/safety/log.csv', form)} hx-boost="false" download>
              {isFiltered ? 'These as a table file (CSV)' : 'All as a table file (CSV)'}
            </a>
            <a class="plain" href="/safety/register">
              Register to print
            </a>
          </>
        )}
      </Pages>
      <Caution />
      <p>
        <BackToSafety />
      </p>
    </>
  );
}

function LogTable({ entries, reader }: Pick<LogProps, 'entries' | 'reader'>) {
  return (
    <Panel>
      <Table
        columns={[
          { label: 'What', main: true, wraps: true },
          { label: 'When' },
          { label: 'Where', wraps: true },
          { label: 'Stands', wraps: true },
          { label: 'By', wraps: true },
        ]}
        rows={entries.map((entry) => ({
          key: entry.number,
          struck: entry.standing.state === 'struck',
          cells: [
            <>
              <EntryLink entry={entry} />
              <br />
              <small>{short([figureWords(entry.payload), entry.what].filter(Boolean).join('. '))}</small>
            </>,
            shownTime(entry.happenedAt, reader.now, reader.timeZone),
            <EntryAbout entry={entry} />,
            <EntryState entry={entry} />,
            entry.by,
          ],
        }))}
      />
    </Panel>
  );
}

const short = (words: string): string => (words.length > SHORT ? `${words.slice(0, SHORT)} …` : words);

const Period = () => (
  <Beside>
    <Field type="date" name="from" label="From" optional />
    <Field type="date" name="to" label="To" optional />
  </Beside>
);

/** This list, or another with the same filter. */
function address(path: string, { typed }: FormState, before?: number): string {
  const query = new URLSearchParams();
  for (const name of FIELDS) {
    const value = [typed[name] ?? []].flat().at(-1);
    if (value) query.set(name, value);
  }
  if (before !== undefined) query.set('before', String(before));
  return query.size > 0 ? `${path}?${query}` : path;
}

interface RegisterProps {
  /** As it happened. */
  entries: Entry[];
  studio: string;
  form: FormState;
  reader: LogReader;
}

export function RegisterPage({ entries, studio, form, reader }: RegisterProps) {
  const at = toWallTime(reader.now, reader.timeZone).replace('T', ' ');
  const leaves = [form.typed.withoutHealth].flat().at(-1);
  return (
    <>
      <h1>Register of the safety log</h1>
      <p>
        {studio}, {String(form.typed.from)} to {String(form.typed.to)}.{' '}
        {form.errors.length === 0 && `${entries.length} ${entries.length === 1 ? 'entry' : 'entries'}.`}{' '}
        Printed {at}. {leaves && 'Entries about somebody’s health are left out.'}
      </p>
      <div class="screen-only">
        <Form action="/safety/register" method="get" form={form}>
          <Period />
          <Check
            name="withoutHealth"
            label="Leave out what is about somebody's health"
            hint="For a copy that leaves the office."
          />
          <Submit label="Show this period" look="plain" />
        </Form>
        <p class="row">
          <button class="do" type="button" data-print>
            Print it
          </button>
          <a class="plain" href={address('/safety/log.csv', form)} hx-boost="false" download>
            As a table file (CSV)
          </a>
        </p>
      </div>
      {form.errors.length > 0 ? null : entries.length === 0 ? (
        <Empty title="Nothing happened in this period" />
      ) : (
        <div class="register">
          <Table
            columns={[
              { label: 'No.', number: true },
              { label: 'When' },
              { label: 'What', main: true, wraps: true },
              { label: 'Where', wraps: true },
              { label: 'By' },
              { label: 'Stands', wraps: true },
            ]}
            rows={entries.map((entry) => ({
              key: entry.number,
              struck: entry.standing.state === 'struck',
              cells: [
                String(entry.number),
                toWallTime(entry.happenedAt, reader.timeZone).replace('T', ' '),
                <Told entry={entry} reader={reader} />,
                <EntryAbout entry={entry} />,
                entry.by,
                <EntryState entry={entry} />,
              ],
            }))}
          />
        </div>
      )}
      <Caution />
      <p class="screen-only">
        <a href="/safety/log">Back to the log</a>
      </p>
    </>
  );
}

function Told({ entry, reader }: { entry: Entry; reader: LogReader }) {
  const figures = figureWords(entry.payload);
  return (
    <>
      <b>{KINDS[entry.kind].words}</b>
      {entry.restricted && ' (restricted)'}
      {figures && <p>{figures}</p>}
      {entry.what !== null && <p class="written">{entry.what}</p>}
      {entry.action !== null && <p class="written">Done at once: {entry.action}</p>}
      {entry.later.map((row) => (
        <p key={row.number} class="written">
          {row.number}, {toWallTime(row.at, reader.timeZone).replace('T', ' ')}, {row.by}:{' '}
          {row.strikes ? 'Struck out' : LATER_WORDS[row.kind]}
          {row.owner !== null && ` (${row.owner} by ${row.dueOn})`}. {row.words}
        </p>
      ))}
      {entry.photos.length > 0 && (
        <p>
          {entry.photos.length} {entry.photos.length === 1 ? 'photo' : 'photos'}
        </p>
      )}
    </>
  );
}
