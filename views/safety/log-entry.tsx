import type { ComponentChildren } from 'preact';
import type { FormState } from '../../server/core/routes.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import { addDays } from '../../server/kilns/calendar.ts';
import type { LogReader } from '../../server/safety/actions/log-reader.ts';
import { KINDS, TOPIC_WORDS } from '../../server/safety/log.ts';
import type { Entry, followUpOwners, Later } from '../../server/safety/service/log-read.ts';
import { Check, Field, Form, PhotoField, Select, Submit, TextArea } from '../ui/field.tsx';
import { Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { BackToSafety, EntryFacts, EntryState } from './log-parts.tsx';
import { Caution } from './parts.tsx';

/** Days that a follow-up usually takes. Common practice, no source. */
const USUAL_DAYS = 7;

interface EntryProps {
  entry: Entry;
  done: string | null;
  form: FormState;
  reader: LogReader;
}

export function EntryPage({ entry, done, form, reader }: EntryProps) {
  const at = `/safety/log/${entry.number}`;
  const { state } = entry.standing;
  const mayWrite = state !== 'struck' && (entry.isOwn || reader.keeps);
  const { topic } = entry.payload;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>
        {KINDS[entry.kind].words} <span class="num soft">entry {entry.number}</span>
      </h1>
      <p>
        <EntryState entry={entry} />
      </p>
      {entry.restricted && (
        <p class="soft">Only technicians, managers and whoever wrote it read this entry.</p>
      )}
      <Panel>
        <EntryFacts entry={entry} reader={reader} />
      </Panel>
      {topic && (
        <Notice title={TOPIC_WORDS[topic].words}>
          <p>{TOPIC_WORDS[topic].advice}</p>
        </Notice>
      )}
      {entry.photos.length > 0 && (
        <ul class="tiles">
          {entry.photos.map((sha256, index) => (
            <li key={sha256}>
              <a href={`/files/${sha256}`} hx-boost="false">
                <img
                  class="log-photo"
                  src={`/files/${sha256}`}
                  alt={`Entry ${entry.number}, ${index + 1} of ${entry.photos.length}`}
                  loading="lazy"
                />
              </a>
            </li>
          ))}
        </ul>
      )}
      {entry.later.length > 0 && (
        <>
          <h2>Since then</h2>
          <LaterList later={entry.later} reader={reader} />
        </>
      )}
      {mayWrite && (
        <div class="acts">
          {reader.keeps && <PlainAct href={`${at}/follow-up`} label="Follow it up" small="Who, until when" />}
          {reader.keeps && (state === 'open' || state === 'to-do') && (
            <PlainAct href={`${at}/close`} label="Close it" small="What came of it" />
          )}
          <PlainAct href={`${at}/amend`} label="Put it right" small="Added, nothing is erased" />
        </div>
      )}
      {mayWrite && (
        <More summary="Add a photo" open={form.errors.length > 0}>
          <Form action={`${at}/photo`} form={form} idempotencyKey={`${reader.key}-photo`} takesFiles>
            <PhotoField name="photo" label="Photo" hint="No faces unless they agreed." />
            <Submit label="Add this photo" look="plain" />
          </Form>
        </More>
      )}
      <Caution />
      <p class="row">
        <a href="/safety/log">All entries</a> <BackToSafety />
      </p>
    </>
  );
}

export const LATER_WORDS = {
  amendment: 'Put right',
  'follow-up': 'Follow-up',
  closing: 'Closed',
} as const;

const laterWords = ({ kind, strikes }: Later): string => (strikes ? 'Struck out' : LATER_WORDS[kind]);

function LaterList({ later, reader }: { later: Later[]; reader: LogReader }) {
  return (
    <ol class="log-later">
      {later.map((row) => (
        <li key={row.number}>
          <p>
            <b>{laterWords(row)}</b>
            {row.owner !== null && row.dueOn !== null && `: ${row.owner} by ${shownDay(row.dueOn)}`}
          </p>
          <p class="written">{row.words}</p>
          {row.restricts && <p class="soft">From here on it is not for everybody to read.</p>}
          <p class="soft">
            {row.by}, {shownTime(row.at, reader.now, reader.timeZone)}, entry{' '}
            <span class="num">{row.number}</span>
          </p>
        </li>
      ))}
    </ol>
  );
}

interface FormProps {
  entry: Entry;
  form: FormState;
  reader: LogReader;
}

export function AmendPage({ entry, form, reader }: FormProps) {
  return (
    <LaterForm
      entry={entry}
      form={form}
      reader={reader}
      verb="amend"
      title="Put right"
      submit="Add this to the entry"
    >
      <TextArea name="what" label="What was wrong, and how it is right" rows={4} maxlength={4000} />
      {!entry.restricted && (
        <Check
          name="restrict"
          label="It tells of somebody's health"
          hint="From now on only technicians, managers and whoever wrote it read it. There is no way back."
        />
      )}
      <Check
        name="strike"
        label="Strike the entry out"
        hint="Written by mistake, or twice. It stays, crossed out, and counts no more."
      />
    </LaterForm>
  );
}

interface FollowUpProps extends FormProps {
  owners: Awaited<ReturnType<typeof followUpOwners>>;
  /** The e-mail address of whoever is offered first. */
  owner: string;
}

export function FollowUpPage({ entry, owners, owner, form, reader }: FollowUpProps) {
  return (
    <LaterForm
      entry={entry}
      form={form}
      reader={reader}
      verb="follow-up"
      title="Follow up"
      submit="Hand it over"
    >
      <TextArea
        name="what"
        label="What is to be done"
        hint="So that it does not happen again."
        rows={3}
        maxlength={2000}
      />
      <Select
        name="owner"
        label="Who sees to it"
        value={owner}
        options={owners.map(({ name, email }) => ({ value: email, label: name }))}
      />
      <Field type="date" name="dueOn" label="Until" value={addDays(reader.today, USUAL_DAYS)} />
    </LaterForm>
  );
}

export function ClosePage({ entry, form, reader }: FormProps) {
  return (
    <LaterForm entry={entry} form={form} reader={reader} verb="close" title="Close" submit="Close it">
      <TextArea
        name="what"
        label="What came of it"
        hint="What was changed, and whether it holds."
        rows={3}
        maxlength={2000}
      />
    </LaterForm>
  );
}

interface LaterFormProps extends FormProps {
  verb: string;
  title: string;
  submit: string;
  children: ComponentChildren;
}

function LaterForm({ entry, form, reader, verb, title, submit, children }: LaterFormProps) {
  const at = `/safety/log/${entry.number}`;
  return (
    <>
      <h1>
        {title}: {KINDS[entry.kind].words.toLowerCase()}, entry {entry.number}
      </h1>
      <Panel>
        <EntryFacts entry={entry} reader={reader} />
      </Panel>
      <Form action={`${at}/${verb}`} form={form} idempotencyKey={reader.key}>
        {children}
        <Submit label={submit} />
      </Form>
      <Caution />
      <p>
        <a href={at}>Back to entry {entry.number}</a>
      </p>
    </>
  );
}
