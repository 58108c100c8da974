import type { FormState } from '../../server/core/routes.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import type { AboutEntry, OfferedKinds } from '../../server/safety/actions/log-new.tsx';
import type { LogReader } from '../../server/safety/actions/log-reader.ts';
import {
  AIR_UNITS,
  CHECK_UNITS,
  type EntryKind,
  KINDS,
  OUTCOME_WORDS,
  OUTCOMES,
  QUANTITY_UNITS,
  TOPIC_WORDS,
  TOPICS,
  WAY_WORDS,
  WAYS_OUT,
  WIPE_UNITS,
} from '../../server/safety/log.ts';
import type { entryChoices } from '../../server/safety/service/log-read.ts';
import { Beside, Check, Choice, Field, Form, NumberField, Select, Submit, TextArea } from '../ui/field.tsx';
import { More, Notice } from '../ui/panel.tsx';
import { BackToSafety, EverydayCautions } from './log-parts.tsx';
import { Caution } from './parts.tsx';

interface Props {
  kind: EntryKind | null;
  /** What whoever writes may write. */
  offered: OfferedKinds;
  choices: Awaited<ReturnType<typeof entryChoices>>;
  about: AboutEntry;
  form: FormState;
  reader: LogReader;
}

const SUBJECTS = ['bucket', 'material', 'kiln'];

/** First what it was, then the few fields of that. */
export function NewEntryPage(props: Props) {
  const { kind } = props;
  return kind ? <EntryForm {...props} kind={kind} /> : <WhatWasIt {...props} />;
}

/** The address of the form for a kind, about what the link that led here was about. */
const formAddress = (kind: EntryKind, about: AboutEntry): string =>
  `/safety/log/new?${new URLSearchParams({ kind, ...about })}`;

function WhatWasIt({ offered, about }: Props) {
  const trouble = offered.filter((kind) => KINDS[kind].opens);
  const work = offered.filter((kind) => !KINDS[kind].opens);
  return (
    <>
      <h1>What was it?</h1>
      <HelpFirst />
      <Kinds label="What happened" kinds={trouble} about={about} />
      <h2>Or what was done</h2>
      <Kinds label="What was done" kinds={work} about={about} />
      <EverydayCautions />
      <Caution />
      <p>
        <BackToSafety />
      </p>
    </>
  );
}

function Kinds({ label, kinds, about }: { label: string; kinds: OfferedKinds; about: AboutEntry }) {
  return (
    <nav class="log-kinds" aria-label={label}>
      {kinds.map((kind) => (
        <a key={kind} class="plain" href={formAddress(kind, about)}>
          {KINDS[kind].words}
          <small>{KINDS[kind].hint}</small>
        </a>
      ))}
    </nav>
  );
}

const HelpFirst = () => (
  <Notice title="Help first, write later" tone="too-thick">
    <p>
      Somebody is hurt or feels ill: call for help, then the emergency number. Eyes: rinse with clean water
      and go on rinsing. Powder spilled: nobody sweeps, wet it and wipe it up.
    </p>
  </Notice>
);

function EntryForm({ kind, choices, about, form, reader }: Props & { kind: EntryKind }) {
  const { words, hint, asks, figures, opens, restricted } = KINDS[kind];
  const isWhatNeeded = opens || kind === 'waste';
  const isPlaceNeeded = opens || figures === 'measured';
  return (
    <>
      <h1>{words}</h1>
      <p class="soft narrow">
        {hint} <a href={`/safety/log/new?${new URLSearchParams({ ...about })}`}>It was something else</a>
      </p>
      {opens && <HelpFirst />}
      <Form
        action={formAddress(kind, about)}
        form={form}
        idempotencyKey={reader.key}
        hidden={{ kind, duty: about.duty }}
      >
        <Field
          type="datetime-local"
          name="happenedAt"
          label="When"
          value={toWallTime(reader.now, reader.timeZone)}
        />
        <Field
          name="place"
          label="Where"
          hint="Such as: glaze sink, kiln room."
          maxlength={80}
          optional={!isPlaceNeeded}
        />
        {(kind === 'air' || kind === 'wipe') && <Measured kind={kind} />}
        {figures === 'checked' && <Checked />}
        {figures === 'quantity' && <Quantity />}
        <TextArea
          name="what"
          label={asks}
          rows={5}
          maxlength={4000}
          optional={!isWhatNeeded}
          hint={figures === 'checked' ? 'Say what, where something needs work.' : undefined}
        />
        {opens && (
          <>
            <TextArea
              name="action"
              label="What was done about it at once"
              rows={3}
              maxlength={2000}
              optional
            />
            <Select
              name="topic"
              label="Was it one of these?"
              none="None of them"
              options={TOPICS.map((topic) => ({ value: topic, label: TOPIC_WORDS[topic].words }))}
              optional
            />
          </>
        )}
        <Subjects choices={choices} about={about} form={form} />
        <WhoReads restricted={restricted} />
        <Submit label="Put it into the log" small="It stays as written. Corrections are added to it." />
      </Form>
      <Caution />
      <p>
        <BackToSafety />
      </p>
    </>
  );
}

function Subjects({ choices, about, form }: Pick<Props, 'choices' | 'about' | 'form'>) {
  return (
    <More
      summary="A bucket, material or kiln had to do with it"
      open={
        Boolean(about.bucket || about.kiln || about.material) ||
        form.errors.some(({ path }) => SUBJECTS.includes(path))
      }
    >
      <div class="form">
        <Select
          name="bucket"
          label="Bucket"
          none="None"
          value={about.bucket}
          options={choices.buckets.map(({ code, name }) => ({ value: code, label: `${name} ${code}` }))}
          optional
        />
        <Select
          name="material"
          label="Material"
          none="None"
          value={about.material}
          options={choices.materials.map(({ id, name }) => ({ value: String(id), label: name }))}
          optional
        />
        <Select
          name="kiln"
          label="Kiln"
          none="None"
          value={about.kiln}
          options={choices.kilns.map(({ code, name }) => ({ value: code, label: name }))}
          optional
        />
      </div>
    </More>
  );
}

function WhoReads({ restricted }: { restricted: 'always' | 'usually' | 'no' }) {
  if (restricted === 'always') return <p class="soft">Only technicians, managers and you will read this.</p>;
  return (
    <Check
      name="restricted"
      label="It tells of somebody's health"
      hint="Then only technicians, managers and you read it."
      checked={restricted === 'usually'}
    />
  );
}

function Measured({ kind }: { kind: 'air' | 'wipe' }) {
  const units = kind === 'air' ? AIR_UNITS : WIPE_UNITS;
  return (
    <>
      <Field
        name="substance"
        label="What was measured"
        hint="Such as: respirable crystalline silica, manganese, lead."
        maxlength={80}
      />
      <Beside>
        <NumberField name="value" label="Result" />
        <Select name="unit" label="Unit" options={units.map((unit) => ({ value: unit, label: unit }))} />
        {kind === 'air' && <NumberField name="minutes" label="Over" unit="min" optional />}
      </Beside>
      <Check name="below" label="Less than this: it is the least that the method can tell" />
      <Field name="method" label="Method and laboratory" maxlength={120} />
    </>
  );
}

function Checked() {
  return (
    <>
      <Choice
        name="outcome"
        label="Result"
        options={OUTCOMES.map((outcome) => ({ value: outcome, label: OUTCOME_WORDS[outcome] }))}
      />
      <Beside>
        <NumberField name="value" label="Measured" optional />
        <Select
          name="unit"
          label="Unit"
          none="None"
          options={CHECK_UNITS.map((unit) => ({ value: unit, label: unit }))}
          optional
        />
        <Field name="method" label="With what" maxlength={120} optional />
      </Beside>
    </>
  );
}

function Quantity() {
  return (
    <>
      <Beside>
        <NumberField name="quantity" label="How much" />
        <Select
          name="quantityUnit"
          label="Unit"
          options={QUANTITY_UNITS.map((unit) => ({ value: unit, label: unit }))}
        />
      </Beside>
      <Select
        name="way"
        label="How it left"
        options={WAYS_OUT.map((way) => ({ value: way, label: WAY_WORDS[way] }))}
      />
      <Field name="reference" label="Number of the manifest or receipt" maxlength={80} optional />
    </>
  );
}
