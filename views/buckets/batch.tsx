import type { VNode } from 'preact';
import type { Reader } from '../../server/buckets/actions/reader.ts';
import { ABANDONED, STAGE_WORDS } from '../../server/buckets/batch.ts';
import { eventWords, gravityFigure } from '../../server/buckets/sentences.ts';
import type { Batch, BatchPage, BatchUse, BucketNow } from '../../server/buckets/service/index.ts';
import type { ShownNotice } from '../../server/buckets/service/safety-gate.ts';
import type { Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { fromLitres, mass, type UnitSystem, volume, volumeUnit } from '../../server/core/units.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { LotNow } from '../../server/materials/service/index.ts';
import { stockWords } from '../../server/materials/stock.ts';
import { LotState } from '../materials/lot-state.tsx';
import { Beside, Choice, Field, Form, NumberField, Select, Submit, TextArea } from '../ui/field.tsx';
import { Chip } from '../ui/icons.tsx';
import { Facts, Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { UnreadNotices } from './bucket-notices.tsx';

interface Props extends BatchPage {
  buckets: BucketNow[];
  /** Of the bucket it was to be poured into. */
  notices: readonly ShownNotice[];
  form: FormState;
  /** Who reads this: whoever weighed a line does not countersign. */
  personId: number;
  reader: Reader;
}

type Line = BatchPage['lines'][number];

const FRESH: FormState = { typed: {}, errors: [] };
const USUAL_MESH = 80;

/** The sheet a batch is weighed by, on a phone or on paper, and what became of it. */
export function BatchSheetPage(props: Props) {
  const { batch, lines, lots, uses, abandoned, form, reader } = props;
  const { number, stage } = batch;
  const isUnderWay = stage !== 'abandoned' && stage !== 'used';
  const atLine = lines.find(({ position }) => String(position) === form.typed.position);
  const isShownThere =
    form.typed.how !== undefined || (atLine && atLine.weighedAt === null && stage === 'weighing');
  return (
    <>
      {form.errors.length > 0 && !isShownThere && (
        <Flash tone="refused" words={form.errors.map(({ message }) => message).join(' ')} />
      )}
      <UnreadNotices notices={props.notices} next={`/batches/${number}`} idempotencyKey={reader.key} />
      <h1>
        Batch {number}, {batch.recipeName}
      </h1>
      <p class="soft">
        {STAGE_WORDS[stage]} · {volume(batch.litres, reader.units)} at SG {gravityFigure(batch.aimSg)}
        {batch.bucketName && ` · for ${batch.bucketName}`}
      </p>
      {stage === 'abandoned' && (
        <Notice title="Abandoned: do not use it" tone="do-not-use">
          <p>
            {abandoned && `${ABANDONED[abandoned.reason]}. ${abandoned.by}, `}
            {batch.abandonedAt !== null && when(batch.abandonedAt, reader)}.
          </p>
        </Notice>
      )}
      <div class="split">
        <div>
          {isUnderWay && <Dust />}
          {isUnderWay && <OrderOfWork batch={batch} reader={reader} />}
          {stage === 'checked' && <Pour {...props} />}
          <Panel title={batch.isWeighed ? 'Weighed' : 'Weigh'}>
            <ol class="weighing">
              {lines.map((line) => (
                <WeighingLine
                  key={line.position}
                  line={line}
                  lots={lots.get(line.materialId) ?? []}
                  batch={batch}
                  form={line === atLine ? form : FRESH}
                  reader={reader}
                />
              ))}
            </ol>
            <p>
              <b>{grams(1000 * batch.dryKg)}</b> of dry glaze in all
            </p>
          </Panel>
          <Countersign {...props} />
        </div>
        <div>
          {uses.length > 0 && <WentInto uses={uses} reader={reader} />}
          <Panel title="About it">
            <Facts items={about(batch, reader)} />
          </Panel>
          {isUnderWay && (
            <>
              <button class="plain" type="button" data-print>
                Print the sheet
              </button>
              <Abandon number={number} reader={reader} />
            </>
          )}
          <p class="screen-only">
            <a href="/batches">All batches</a>
          </p>
        </div>
      </div>
    </>
  );
}

const when = (at: Instant, reader: Reader): string => shownTime(at, reader.now, reader.timeZone);

/** As a scale shows it: whole grams, or tenths under a hundred. */
const grams = (amount: number): string => `${amount < 100 ? amount.toFixed(1) : Math.round(amount)} g`;

function Dust() {
  return (
    <Notice title="Powder in the air is what harms" tone="ask-technician">
      <p>
        Respirator on, extraction on, nobody beside you without one. Scoop low and slowly, powder into water
        and never water onto powder, wipe wet, never sweep dry.
      </p>
    </Notice>
  );
}

function OrderOfWork({ batch, reader }: { batch: Batch; reader: Reader }) {
  const first = volume(batch.waterL - batch.heldBackL, reader.units);
  const held = volume(batch.heldBackL, reader.units);
  return (
    <Panel title="Order of work">
      <ol>
        <li>
          Pour <b>{first} of water</b> into a clean bucket. Hold <b>{held}</b> back.
        </li>
        <li>Weigh each material and tick it. Somebody else countersigns.</li>
        <li>Powder into the water, never water onto powder. Do not stir yet.</li>
        <li>Let it slake overnight, lid on.</li>
        <li>Stir, and sieve it twice, {batch.sieveMesh ?? USUAL_MESH} mesh.</li>
        <li>
          Check SG next day, aim {gravityFigure(batch.aimSg)}. Only then add what it asks for of the water
          held back.
        </li>
      </ol>
    </Panel>
  );
}

interface WeighingLineProps {
  line: Line;
  /** What was delivered of its material, the newest first. */
  lots: LotNow[];
  batch: Batch;
  form: FormState;
  reader: Reader;
}

function WeighingLine({ line, lots, batch, form, reader }: WeighingLineProps) {
  const at = `/batches/${batch.number}`;
  const { position, material, weighedAt } = line;
  const isOpen = batch.checkedAt === null && batch.abandonedAt === null;
  const inHand = lots.filter(({ onHandMg }) => onHandMg > 0);
  const from = lots.find(({ lot }) => lot.toLowerCase() === line.lot.toLowerCase());
  return (
    <li class={weighedAt === null ? undefined : 'weighed'} id={`line-${position}`}>
      <p class="weighing-what">
        <span>{material}</span>
        <b>{grams(line.grams)}</b>
      </p>
      {weighedAt === null ? (
        <>
          {isOpen && (
            <div class="screen-only">
              <Form
                action={`${at}/weigh`}
                form={form}
                id={`line-${position}`}
                idempotencyKey={`${reader.key}-weigh-${position}`}
                // Says yes to this lot, and to no other that is typed instead.
                hidden={{ position, confirm: form.doubtful ? String(form.typed.lot ?? '') : undefined }}
                boosted={false}
              >
                <div class="weighing-tick">
                  <Field
                    name="lot"
                    label="Lot"
                    maxlength={40}
                    autocomplete="off"
                    spellcheck={false}
                    hint={lotHint(inHand)}
                    list={inHand.length > 0 ? `lots-${position}` : undefined}
                    optional
                  />
                  <Submit
                    label={form.doubtful ? 'Yes, it was weighed from it' : `${material} weighed`}
                    look="plain"
                  />
                </div>
                {inHand.length > 0 && <LotList id={`lots-${position}`} lots={inHand} units={reader.units} />}
              </Form>
            </div>
          )}
          <p class="print-only row">
            <span class="blank">
              <small>lot</small>
            </span>
            <span class="blank">
              <small>weighed by</small>
            </span>
          </p>
        </>
      ) : (
        <>
          <p class="soft">
            ✓ {line.weighedBy}, {when(weighedAt, reader)}
            {line.lot && `, lot ${line.lot}`}
            {from && (
              <>
                {' '}
                <LotState lot={from} />
              </>
            )}
          </p>
          {isOpen && (
            <More summary={`Not right? ${material}`}>
              <PlainAct
                post={`${at}/take-back`}
                idempotencyKey={`${reader.key}-back-${position}`}
                fields={{ position }}
                label="Take the tick back"
                small="Then weigh it anew."
              />
            </More>
          )}
        </>
      )}
    </li>
  );
}

/** Lots on the shelf that nobody should weigh from any more, by name. */
function lotHint(lots: LotNow[]): string | undefined {
  const recalled = lots.filter(({ recalledAt }) => recalledAt !== null).map(({ lot }) => lot);
  const expired = lots
    .filter(({ isExpired, recalledAt }) => isExpired && recalledAt === null)
    .map(({ lot, expiresOn }) => `${lot} was good until ${shownDay(expiresOn)}`);
  const words = [
    recalled.length > 0 && `Recalled, do not weigh from it: ${recalled.join(', ')}`,
    expired.length > 0 && expired.join(', '),
  ].filter(Boolean);
  return words.length > 0 ? `${words.join('. ')}.` : undefined;
}

function LotList({ id, lots, units }: { id: string; lots: LotNow[]; units: UnitSystem }) {
  return (
    <datalist id={id}>
      {lots.map(({ lot, onHandMg, isExpired, recalledAt }) => (
        <option key={lot} value={lot}>
          {recalledAt !== null ? 'recalled' : isExpired ? 'expired' : `${stockWords(onHandMg, units)} left`}
        </option>
      ))}
    </datalist>
  );
}

function Countersign({ batch, lines, personId, reader }: Props) {
  const { number, stage } = batch;
  if (batch.checkedAt !== null)
    return (
      <p>
        <b>Countersigned</b> by {batch.checkedBy}, {when(batch.checkedAt, reader)}.
      </p>
    );
  const left = lines.filter(({ weighedAt }) => weighedAt === null).length;
  if (stage === 'weighing')
    return (
      <>
        <p class="screen-only">
          {left === 1 ? 'One line is' : `${left} lines are`} still to be weighed; then somebody else
          countersigns.
        </p>
        <p class="print-only row">
          <span class="blank">
            <small>countersigned by</small>
          </span>
        </p>
      </>
    );
  if (stage !== 'to-check') return null;
  if (lines.some(({ weighedById }) => weighedById === personId))
    return (
      <Notice title="Somebody else countersigns it">
        <p>You weighed a line of it yourself. Hand the sheet to another technician.</p>
      </Notice>
    );
  return (
    <Panel title="Countersign">
      <Form action={`/batches/${number}/countersign`} idempotencyKey={`${reader.key}-sign`}>
        <p>Compare every line with what stands there: material, lot and grams.</p>
        <Submit label="I checked every line" small="After this the lines stay as they are." />
      </Form>
    </Panel>
  );
}

/** A countersigned batch goes into one bucket, which is on test from then on. */
function Pour({ batch, buckets, form, reader }: Props) {
  const action = `/batches/${batch.number}/use`;
  const fitting = buckets.filter(({ facts, isReclaim }) => isReclaim || facts.recipe?.id === batch.recipeId);
  if (fitting.length === 0)
    return (
      <Notice title={`No bucket holds ${batch.recipeName}`}>
        <p>
          <a href="/buckets/new">Make a bucket of this recipe</a>, then come back.
        </p>
      </Notice>
    );
  const bucket = (
    <Select
      name="bucket"
      label="Bucket"
      value={batch.bucketCode ?? undefined}
      none={fitting.length > 1 ? 'Choose the bucket' : undefined}
      options={fitting.map(({ code, name }) => ({ value: code, label: `${name} ${code}` }))}
    />
  );
  const note = <TextArea name="note" label="Note" rows={2} maxlength={500} optional />;
  const stateOf = (how: string) => (form.typed.how === how ? form : FRESH);
  const asked = (how: string) => stateOf(how).doubtful === true;
  const first = batch.waterL - batch.heldBackL;
  return (
    <Panel title="Slaked, sieved and checked? Into a bucket">
      <p>It goes on test until a fired tile of it is accepted.</p>
      <More summary="It sets up a bucket" open={form.typed.how !== 'blend'}>
        <Form
          action={action}
          form={stateOf('setup')}
          id="setup"
          idempotencyKey={`${reader.key}-setup`}
          hidden={{ how: 'setup', confirm: asked('setup') ? 'yes' : undefined }}
        >
          {bucket}
          <NumberField
            name="waterLitres"
            label="Water that went in"
            unit={volumeUnit(reader.units)}
            value={figure(fromLitres(first, reader.units))}
            hint={`${volume(first, reader.units)} at first, and what you added of the ${volume(batch.heldBackL, reader.units)} held back.`}
          />
          {note}
          <Submit
            label={asked('setup') ? 'Yes, set it up all the same' : 'Set up the bucket'}
            small={`${mass(batch.dryKg, reader.units)} of dry glaze and this water are all that is in it.`}
          />
        </Form>
      </More>
      <More summary="It is blended into a bucket" open={form.typed.how === 'blend'}>
        <Form
          action={action}
          form={stateOf('blend')}
          id="blend"
          idempotencyKey={`${reader.key}-blend`}
          hidden={{ how: 'blend', confirm: asked('blend') ? 'yes' : undefined }}
        >
          {bucket}
          <Beside>
            <NumberField name="litres" label="Poured in" unit={volumeUnit(reader.units)} />
            <NumberField name="specificGravity" label="Measured" unit="SG" />
          </Beside>
          {note}
          <Submit label={asked('blend') ? 'Yes, blend it in all the same' : 'Blend it in'} />
        </Form>
      </More>
    </Panel>
  );
}

const figure = (amount: number): string => String(Number(amount.toFixed(2)));

/** Every bucket and event it went into, and the way to what happened there since. */
function WentInto({ uses, reader }: { uses: BatchUse[]; reader: Reader }) {
  return (
    <Panel title="Went into">
      <ul class="went-into">
        {uses.map((use) => {
          const at = `/buckets/${use.code}`;
          return (
            <li key={`${use.code} ${use.number}`}>
              <p>
                <Chip colour={use.colour} /> <a href={at}>{use.name}</a> <span class="code">{use.code}</span>
              </p>
              <p class={use.isVoided ? 'soft' : undefined}>
                <a href={`${at}/ledger?before=${use.number + 1}`}>Number {use.number}</a>:{' '}
                {eventWords(use.entry, reader.units)}, {use.by}, {when(use.happenedAt, reader)}
                {use.isVoided && ' (struck out)'}
              </p>
              {!use.isVoided && (
                <p class="soft">
                  {sinceWords(use)}{' '}
                  <a
                    href={use.replacedBy === null ? `${at}/ledger` : `${at}/ledger?before=${use.replacedBy}`}
                  >
                    See them in the ledger of {use.name}
                  </a>
                </p>
              )}
            </li>
          );
        })}
      </ul>
    </Panel>
  );
}

function sinceWords({ later, replacedBy }: BatchUse): string {
  const events = later === 1 ? 'One event' : `${later} events`;
  const until = replacedBy === null ? '' : ` It was set up anew by number ${replacedBy}.`;
  return `${events} there since.${until}`;
}

function about(batch: Batch, reader: Reader): Parameters<typeof Facts>[0]['items'] {
  const { recipeId, recipeVersion, recipeName, bucketCode, bucketName } = batch;
  return [
    [
      'Recipe',
      <>
        <a href={`/recipes/${recipeId}?version=${recipeVersion}`}>{recipeName}</a>, version {recipeVersion}
      </>,
    ],
    ['Dry glaze', mass(batch.dryKg, reader.units)],
    [
      'Water',
      `${volume(batch.waterL, reader.units)}, of which ${volume(batch.heldBackL, reader.units)} held back`,
    ],
    ...(bucketCode ? [['For', <a href={`/buckets/${bucketCode}`}>{bucketName}</a>] as [string, VNode]] : []),
    ['Planned', `${batch.madeBy}, ${when(batch.madeAt, reader)}`],
  ];
}

function Abandon({ number, reader }: { number: number; reader: Reader }) {
  return (
    <div class="screen-only">
      <More summary="Abandon this batch">
        <Form action={`/batches/${number}/abandon`} id="abandon" idempotencyKey={`${reader.key}-abandon`}>
          <Choice
            name="reason"
            label="Why"
            options={Object.entries(ABANDONED).map(([value, label]) => ({ value, label }))}
          />
          <Submit label="Abandon it" look="plain danger" />
        </Form>
      </More>
    </div>
  );
}
