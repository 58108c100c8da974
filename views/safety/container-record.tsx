import type { FormState } from '../../server/core/routes.ts';
import { volumeUnit } from '../../server/core/units.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { ContainerReader } from '../../server/safety/actions/container-reader.ts';
import {
  CONTAINER_ACTS,
  type ContainerAct,
  DISPOSALS,
  needsPermission,
} from '../../server/safety/container.ts';
import { CONTAINER_KINDS, containerWords, DISPOSAL_WORDS } from '../../server/safety/container-words.ts';
import type { ContainerLedgerRow, ContainerNow } from '../../server/safety/service/containers.ts';
import { TimeAndNote } from '../buckets/parts.tsx';
import { Check, Choice, Field, Form, NumberField, Select, Submit, TextArea } from '../ui/field.tsx';
import { Filter, More, Notice, Panel } from '../ui/panel.tsx';
import { ContentsTable, containerAt, HowFull, InItHazards } from './container-parts.tsx';
import { Caution } from './parts.tsx';

export const ACT_WORDS: Record<ContainerAct, string> = {
  in: 'Rinsed in',
  'sieve-back': 'Sieve back',
  move: 'Move',
  level: 'Level',
  dispose: 'Dispose',
};

/** What may be done at it by whoever looks. */
export function actsAt({ kind }: Pick<ContainerNow, 'kind'>, reader: ContainerReader): ContainerAct[] {
  if (!reader.technician) return ['in'];
  return CONTAINER_ACTS.filter((act) => act !== 'sieve-back' || kind !== 'waste');
}

interface Named {
  code: string;
  name: string;
}

interface Props {
  container: ContainerNow;
  kind: ContainerAct;
  buckets: { glazes: Named[]; reclaim: Named[] };
  others: ContainerNow[];
  form: FormState;
  reader: ContainerReader;
}

/** First what was done, then the few fields of that. */
export function ContainerRecordPage(props: Props) {
  const { container, form, reader } = props;
  const at = containerAt(container);
  const acts = actsAt(container, reader);
  const kind = acts.includes(props.kind) ? props.kind : 'in';
  return (
    <>
      <h1>
        {ACT_WORDS[kind]}{' '}
        <span class="soft">
          {container.name} {container.code}
        </span>
      </h1>
      <p class="lead-fill">
        <HowFull container={container} reader={reader} />
      </p>
      {acts.length > 1 && (
        <Filter
          label="What was done"
          options={acts.map((act) => ({
            href: `${at}/record?kind=${act}`,
            label: ACT_WORDS[act],
            current: act === kind,
          }))}
        />
      )}
      <Form action={`${at}/record?kind=${kind}`} form={form} idempotencyKey={reader.key} hidden={{ kind }}>
        <Fields {...props} kind={kind} />
        <More
          summary="Time and note"
          open={
            Boolean(form.typed.note || form.typed.happenedAt) ||
            form.errors.some((e) => e.path === 'note' || e.path === 'happenedAt')
          }
        >
          <div class="form">
            <TimeAndNote />
          </div>
        </More>
      </Form>
      <p>
        <a href={at}>Back to {container.name}</a>
      </p>
      <Caution />
    </>
  );
}

function Fields(props: Props) {
  switch (props.kind) {
    case 'in':
      return <RinsedIn {...props} />;
    case 'sieve-back':
      return <SieveBack {...props} />;
    case 'move':
      return <Move {...props} />;
    case 'level':
      return <Level {...props} />;
    case 'dispose':
      return <Dispose {...props} />;
  }
}

const options = (named: Named[]) =>
  named.map(({ code, name }) => ({ value: code, label: `${name} ${code}` }));

const Sg = ({ hint }: { hint: string }) => (
  <NumberField name="specificGravity" label="Its SG" hint={hint} optional />
);

function RinsedIn({ container, buckets, reader }: Props) {
  return (
    <>
      <p>
        {container.parent
          ? `Only tools with ${container.parent.name} on them.`
          : 'Tools of any glaze. Say which, where it was one.'}
      </p>
      <NumberField name="litres" label="How much" unit={volumeUnit(reader.units)} big autofocus />
      {!container.parent && (
        <Select
          name="bucket"
          label="Which glaze"
          none="Several, or not known"
          options={options([...buckets.glazes, ...buckets.reclaim])}
          optional
        />
      )}
      <Sg hint="Left empty, nobody knows how much glaze went in with it." />
      <Submit label="Record what went in" />
    </>
  );
}

function SieveBack({ container, buckets, reader }: Props) {
  const to = container.parent?.name ?? 'the bucket of mixed reclaim';
  return (
    <>
      <Panel title={`Into ${to}`}>
        <ol>
          <li>Let it settle overnight.</li>
          <li>Sieve what settled.</li>
          <li>Add it to {to}, stir to the bottom, check SG there.</li>
        </ol>
        <p class="soft">Common practice, no source.</p>
      </Panel>
      <NumberField name="litres" label="How much went back" unit={volumeUnit(reader.units)} big autofocus />
      {!container.parent && (
        <Select
          name="bucket"
          label="Into which bucket"
          none="Choose"
          options={options(buckets.reclaim)}
          hint="Mixed rinse never goes back to one glaze."
        />
      )}
      <Sg hint="Left empty, that bucket needs a reading afterwards." />
      <Submit label="Record both" small="It leaves here and goes into that bucket's ledger." />
    </>
  );
}

/** Where it may go from here. */
const targets = ({ container, others }: Props): ContainerNow[] =>
  others.filter(
    (other) =>
      other.kind === 'waste' ||
      (other.kind === 'reclaim' && container.kind !== 'waste') ||
      (other.kind === 'rinse' && container.kind === 'rinse' && other.parent?.code === container.parent?.code),
  );

function Move(props: Props) {
  const { reader } = props;
  return (
    <>
      <NumberField name="litres" label="How much" unit={volumeUnit(reader.units)} big autofocus />
      <Select
        name="to"
        label="Into which container"
        none="Choose"
        options={targets(props).map(({ code, name, kind }) => ({
          value: code,
          label: `${name} ${code}, ${CONTAINER_KINDS[kind].toLowerCase()}`,
        }))}
      />
      <ClearWater />
      <Submit label="Record the move" />
    </>
  );
}

const ClearWater = () => (
  <Check
    name="clear"
    label="Only the clear water off the top"
    hint="What settled stays here, and so does its record."
  />
);

function Level({ reader }: Props) {
  return (
    <>
      <p>
        Less than the books say: water dried off, and what settled stays counted. More: something came in that
        nobody wrote down.
      </p>
      <NumberField name="litres" label="How full it is" unit={volumeUnit(reader.units)} big autofocus />
      <Sg hint="Stirred to the bottom first. It says anew how much dry glaze is in it." />
      <Submit label="Record the level" />
    </>
  );
}

function Dispose({ container, reader }: Props) {
  const { permission } = container;
  const drain = !needsPermission(container.inIt)
    ? 'only as the local code allows'
    : permission?.inForce
      ? `allowed until ${shownDay(permission.validTo)}: ${permission.authority}`
      : 'not without a local permission, recorded by a manager';
  return (
    <>
      <Panel title="What is in it now">
        <ContentsTable contents={container.contents} reader={reader} />
        <InItHazards container={container} />
      </Panel>
      {container.facts.portions.length === 0 && (
        <Notice title="Nothing in it by its ledger" tone="ask-technician">
          <p>Record the level first if that is wrong.</p>
        </Notice>
      )}
      <NumberField name="litres" label="How much" unit={volumeUnit(reader.units)} big />
      <ClearWater />
      <Choice
        name="how"
        label="How"
        options={DISPOSALS.map((how) => ({
          value: how,
          label: DISPOSAL_WORDS[how],
          ...(how === 'drain' && { hint: drain }),
        }))}
      />
      <Field name="byWhom" label="By whom" hint="The firm that fetched it, or: ourselves." maxlength={120} />
      <Field name="manifest" label="Licence or manifest number" maxlength={60} spellcheck={false} optional />
      <Submit label="Record the disposal" small="What was in it is kept with the record." />
    </>
  );
}

interface StrikeOutProps {
  container: ContainerNow;
  event: ContainerLedgerRow;
  form: FormState;
  reader: ContainerReader;
}

export function StrikeOutContainerPage({ container, event, form, reader }: StrikeOutProps) {
  const at = containerAt(container);
  return (
    <>
      <h1>Strike out row {event.number}</h1>
      <p class="narrow">
        {containerWords(event, reader.units)}
        {event.note !== null && `: ${event.note}`}, {shownTime(event.happenedAt, reader.now, reader.timeZone)}{' '}
        by {event.by}. It stays in the ledger, crossed through.
        {event.bucket &&
          event.bucket.event !== null &&
          ` ${event.bucket.name}'s ledger is put right with it.`}
        {event.other && ` So is the ledger of ${event.other.name}.`}
      </p>
      <Form action={`${at}/events/${event.number}/void`} form={form} idempotencyKey={reader.key}>
        <TextArea name="reason" label="What was wrong with it" maxlength={500} />
        <Submit label="Strike it out" />
      </Form>
      <p>
        <a href={at}>Back to {container.name}</a>
      </p>
      <Caution />
    </>
  );
}
