import type { ComponentChildren } from 'preact';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import { STATE_WORDS } from '../../server/buckets/verdict.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { Reader } from '../../server/ware/actions/reader.ts';
import { type BenchStep, FACE_WORDS, stepWords } from '../../server/ware/bench-step.ts';
import { type CoatFace, type Route, routeSteps, type Wetness } from '../../server/ware/route.ts';
import type { CoatAdvice } from '../../server/ware/service/coat.ts';
import type { PieceGlaze, PieceNow } from '../../server/ware/service/now.ts';
import type { WareSettings } from '../../server/ware/settings.ts';
import { upper } from '../../server/ware/words.ts';
import { Beside, Check, Choice, Form, NumberField, type Option, Select, Submit } from '../ui/field.tsx';
import { StateIcon } from '../ui/icons.tsx';
import { Flash, type FlashProps, More, Notice, Panel } from '../ui/panel.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { BenchCaution, CoatLine, hasLost, StepShape, stepTone, wallWords } from './bench-parts.tsx';
import { coatAt, countWords, withoutCount } from './coat.tsx';
import { bucketOptions } from './moves.tsx';
import { AlsoField } from './register.tsx';
import { Holds, PieceHeading, StandingMark } from './shapes.tsx';

/** A coat that is about to go on, and what is known of it beforehand. */
export interface ComingCoat {
  face: CoatFace;
  /** None: it is still to be chosen. */
  bucket: BucketNow | null;
  /** None where its clay is not on the list. */
  advice: CoatAdvice | null;
  /** What to know before it goes on. */
  warnings: string[];
  /** After it the plan is through. */
  isLast: boolean;
}

interface GlazingProps {
  piece: PieceNow;
  others: PieceNow[];
  route: Route;
  wetness: Wetness;
  /** Null where it is not at the bench: in a load, fired, or not bisqued yet. */
  step: BenchStep | null;
  coming: ComingCoat | null;
  buckets: BucketNow[];
  settings: WareSettings;
  /** How its bisque drinks otherwise than it should. */
  bisque: string | null;
  form: FormState;
  /** Which of the forms was refused, by the last part of its address. */
  refused: string | null;
  flash: FlashProps | null;
  reader: Reader;
}

/** One piece at the bench: what to do now by size of words, the one form for it, then all the rest. */
export function GlazingPage(props: GlazingProps) {
  const { piece, route, wetness, step, bisque, settings } = props;
  const flash = isShown(props) ? props.flash : refusalOf(props);
  const raw = piece.glazes.filter(({ load }) => load === null);
  return (
    <>
      {flash && <Flash {...flash} />}
      <PieceHeading piece={piece} />
      {step !== null && (
        <>
          <section class={`verdict ${stepTone(step)}`} data-announce={stepWords(step, wetness.state)}>
            <StepShape step={step} />
            <h2>{stepWords(step, wetness.state)}</h2>
            <p class="verdict-why">{whyWords(props, step)}</p>
            {wetness.state === 'wet' && wetness.shareGone !== null && hasLost(wetness.shareGone) && (
              <div class="verdict-more">
                <WaterGone share={wetness.shareGone} enough={settings.waterGonePercent / 100} />
              </div>
            )}
          </section>
          {bisque !== null && (
            <Notice tone="too-thin" title="Its bisque drinks otherwise">
              <p>{bisque}</p>
            </Notice>
          )}
        </>
      )}
      <div class="split bench-now">
        <div>
          {step === null ? <Elsewhere piece={piece} /> : <StepForm {...props} step={step} />}
          {raw.length > 0 && (
            <Panel title="What is on it">
              <Coats {...props} raw={raw} />
              {route.coats.length > 0 && step !== null && <Weighings {...props} />}
            </Panel>
          )}
          {step !== null && step.do !== 'plan' && <OtherWays {...props} step={step} />}
        </div>
        {step !== null && (
          <Panel title="The whole way">
            <ol class="bench-steps">
              {routeSteps(route.plan, route, wetness.state).map(({ words, tick, isDone }) => (
                <li key={words} class={isDone ? 'holds' : undefined}>
                  {tick === null ? <span class="bench-dot" aria-hidden="true" /> : <Holds ok={isDone} />}
                  <span>{words}</span>
                </li>
              ))}
            </ol>
            <p>
              <a href={`/bench/poster?piece=${piece.number}`}>As a poster</a>
            </p>
          </Panel>
        )}
      </div>
      <BenchCaution />
      <nav class="row" aria-label="From here">
        <a class="plain" href={`/ware/${piece.number}`}>
          Back to piece {piece.number}
        </a>
        <a class="plain" href="/bench">
          Dry racks
        </a>
      </nav>
    </>
  );
}

const Elsewhere = ({ piece }: Pick<GlazingProps, 'piece'>) => (
  <>
    <p>
      <StandingMark piece={piece} />
    </p>
    <p>
      Nothing to do with it at the glazing bench now.{' '}
      <a href={`/ware/${piece.number}`}>What comes next stands on its page.</a>
    </p>
  </>
);

function whyWords(
  { piece, route, wetness, settings, coming, reader }: GlazingProps,
  step: BenchStep,
): string {
  const wall = wallWords(route, wetness, settings, reader);
  switch (step.do) {
    case 'plan':
      return 'Say which glaze goes inside and which outside, and you are led through it step by step.';
    case 'wax':
      return 'Wipe the dust off with a damp sponge first. Then wax the foot: where wax is, no glaze sticks.';
    case 'wait':
      return wall;
    case 'foot':
      return 'Wipe the foot clean and look along the glaze line. Then hand it in.';
    case 'hand-in':
      return ['Its coats are on and the foot is wiped.', wetness.state === 'wet' ? wall : '']
        .filter(Boolean)
        .join(' ');
    case 'coat': {
      const what = coming?.bucket
        ? `${coming.bucket.name}, ${FACE_WORDS[step.face]}.`
        : `Choose the bucket for ${piece.form === 'tile' ? 'the tile' : 'it'}.`;
      return [what, wall].filter(Boolean).join(' ');
    }
  }
}

/** How much of its water is gone, as a bar with the mark that it must reach. */
function WaterGone({ share, enough }: { share: number; enough: number }) {
  const at = (part: number) => 200 * Math.min(1, Math.max(0, part));
  return (
    <svg
      class="water-gone"
      viewBox="0 0 200 14"
      role="img"
      aria-label={`${Math.round(at(share) / 2)} % of its water is gone; ${Math.round(100 * enough)} % must be.`}
    >
      <rect class="all" x="0.75" y="2.75" width="198.5" height="8.5" rx="4" />
      <rect class="gone" x="0.75" y="2.75" width={Math.max(4, at(share) - 1.5)} height="8.5" rx="4" />
      <path class="enough" d={`M${at(enough)} 0V14`} />
    </svg>
  );
}

/** Whether the form that was refused is still on this page, to say why beside its fields. */
function isShown({ refused, form, step, coming, route, piece }: GlazingProps): boolean {
  if (form.errors.length === 0) return true;
  if (step === null) return false;
  switch (refused) {
    case 'plan':
      return route.coats.length === 0 || route.plan !== null;
    case 'coat':
      return coming?.bucket != null;
    case 'weigh':
      return route.coats.length > 0;
    case 'scratch':
      return piece.glazes.some(
        ({ position, load }) => load === null && `${position}` === form.typed.position,
      );
    default:
      return false;
  }
}

const refusalOf = ({ form }: GlazingProps): FlashProps => ({
  words: form.errors.map(({ message }) => message).join(' '),
  tone: 'refused',
});

/** The form of what is to be done now. */
function StepForm(props: GlazingProps & { step: BenchStep }) {
  const { piece, step } = props;
  switch (step.do) {
    case 'plan':
      return <PlanForm {...props} />;
    case 'wax':
      return <WaxForm {...props} />;
    case 'wait':
      return <WaitForms {...props} />;
    case 'coat':
      return <CoatForms {...props} />;
    case 'foot':
    case 'hand-in':
      return <Act href={`/ware/${piece.number}/hand-in`} label="Hand it in" />;
  }
}

/** They have no field: what is refused is said above the page. */
const TAPS = ['waxed', 'inside-dry'];

/** A form of this page: it posts to its act, and comes back filled in where it was the one refused. */
function BenchForm({
  path,
  id = path,
  mine = true,
  props: { piece, others, form, refused, reader },
  alone = false,
  hidden,
  children,
}: {
  path: string;
  id?: string;
  /** Of several forms for one act: whether it was this one that was refused. */
  mine?: boolean;
  props: GlazingProps;
  /** It is about this one piece and takes no others along. */
  alone?: boolean;
  hidden?: Record<string, string | number | undefined>;
  children: ComponentChildren;
}) {
  return (
    <Form
      action={`/ware/${piece.number}/${path}`}
      id={id}
      form={refused === path && mine && !TAPS.includes(path) ? form : undefined}
      idempotencyKey={`${reader.key}-${id}`}
      {...(hidden && { hidden })}
    >
      {!alone && <AlsoField others={others.map(({ number }) => number)} />}
      {children}
    </Form>
  );
}

const OVERS = ['Over it, in places', 'And over that', 'And one more'];

function PlanForm(props: GlazingProps) {
  const { piece, route, buckets } = props;
  const { plan } = route;
  const options = bucketOptions(buckets, piece.final);
  const over = (index: number) => (
    <Select
      key={index}
      name="over"
      index={index}
      label={OVERS[index]}
      none="None"
      value={plan?.over[index] ?? ''}
      options={options}
      optional
    />
  );
  return (
    <>
      <BenchForm path="plan" props={props}>
        <Select
          name="inside"
          label="Inside"
          hint="Poured in and out. It is lined first."
          none="Nothing inside"
          value={plan?.inside ?? ''}
          options={options}
          optional
        />
        <Select
          name="outside"
          label="Outside"
          none="Nothing outside"
          value={plan?.outside ?? ''}
          options={options}
          optional
        />
        {over(0)}
        <More summary="More overlaps" open={(plan?.over.length ?? 0) > 1}>
          <div class="form">
            {over(1)}
            {over(2)}
          </div>
        </More>
        <Submit label="That is the plan" />
      </BenchForm>
      {route.coats.length === 0 && (
        <PlainAct
          href={`/ware/${piece.number}/glazing?coat=all`}
          label="One glaze all over"
          small="Dipped whole, no plan needed"
        />
      )}
    </>
  );
}

function WaxForm(props: GlazingProps) {
  return (
    <BenchForm path="waxed" props={props}>
      <Submit label="Foot waxed and clean" small="Tap it when it is done." />
    </BenchForm>
  );
}

function WaitForms(props: GlazingProps) {
  return (
    <>
      <BenchForm path="inside-dry" props={props}>
        <Submit label="Not cold to the cheek: it is dry" small="Cold still means wet." />
      </BenchForm>
      <Panel title="Or let the scale say it">
        <WeighForm {...props} />
      </Panel>
    </>
  );
}

function WeighForm(props: GlazingProps) {
  const { route } = props;
  const isUnweighed = route.weighings.length === 0;
  return (
    <BenchForm path="weigh" props={props} alone>
      <NumberField
        name="grams"
        label="It weighs now"
        unit="g"
        hint={
          isUnweighed
            ? 'This piece alone. Weigh it again half an hour later: where no more than a gram is gone, it is dry.'
            : 'This piece alone, on the same scale.'
        }
      />
      {isUnweighed && (
        <Choice
          name="moment"
          label="It is"
          value="later"
          options={[
            { value: 'glazed', label: 'Just glazed' },
            { value: 'later', label: 'Drying' },
          ]}
        />
      )}
      <Submit label="That is its weight" look="plain" />
    </BenchForm>
  );
}

function CoatForms(props: GlazingProps) {
  const { piece, route, coming } = props;
  if (!coming) return null;
  return (
    <>
      {route.waxedAt === null && route.coats.length === 0 && <WaxForm {...props} />}
      {coming.bucket === null ? (
        <PickBucket {...props} face={coming.face} />
      ) : (
        <>
          <Count coming={coming} bucket={coming.bucket} />
          {coming.warnings.map((words) => (
            <Notice key={words} tone="too-thick">
              <p>{words}</p>
            </Notice>
          ))}
          <CoatForm {...props} coming={coming} bucket={coming.bucket} />
        </>
      )}
      {piece.isBisqued || (
        <p class="soft">It is raw: whatever it drinks weakens it. Dip it fast and gently.</p>
      )}
    </>
  );
}

/** How long to count, as large as it is read with a pot in both hands, and what the bucket is like now. */
function Count({ coming: { face, advice }, bucket }: { coming: ComingCoat; bucket: BucketNow }) {
  const { state, why } = bucket.verdict;
  const big = advice === null ? 'count 3' : advice.dwell.counts && countWords(advice.dwell);
  return (
    <section class="panel bench-count">
      {big !== null && <h2>{upper(big)}</h2>}
      <p>
        {advice === null
          ? 'Its clay is not on the list: how thick the coat gets, nobody can say. Most count 3.'
          : withoutCount(advice.dwell)}
        {advice !== null && (
          <>
            {' '}
            <a href={coatAt(advice.clay.id, bucket.code)}>The tiles behind it</a>
          </>
        )}
      </p>
      {face === 'inside' && (
        <p>Poured in, swilled round to the rim, poured out: start to count as it is in.</p>
      )}
      <p class={`bench-bucket is-${state}`}>
        <StateIcon state={state} />
        <span>
          <a href={`/buckets/${bucket.code}`}>
            {bucket.name} <span class="code">{bucket.code}</span>
          </a>
          : <strong>{STATE_WORDS[state]}</strong>
          <small>{why}</small>
        </span>
      </p>
    </section>
  );
}

const DONE_WORDS: Record<CoatFace, string> = {
  inside: 'It is lined',
  outside: 'The outside is on',
  over: 'The overlap is on',
  all: 'It is glazed',
};

/** What it weighs before this coat, where one knows: weighed since the last one was put on, and dry. Of one piece alone. */
function dryWeight({ route: { coats, weighings }, wetness, others }: GlazingProps): number | null {
  const isWetOnly = weighings.length === 1 && coats.at(-1)?.afterGrams !== null;
  const isKnown = coats.length > 0 && wetness.state !== 'wet' && !isWetOnly && others.length === 0;
  return isKnown ? (weighings.at(-1)?.grams ?? null) : null;
}

function CoatForm(props: GlazingProps & { coming: ComingCoat; bucket: BucketNow }) {
  const { coming, bucket } = props;
  const { route, others, settings, refused, form } = props;
  const { face, isLast } = coming;
  const weighs = ['beforeGrams', 'afterGrams'];
  const wrong = refused === 'coat' && form.errors.some(({ path }) => weighs.includes(path));
  const isAsked = refused === 'coat' && form.doubtful === true;
  const known = dryWeight(props);
  return (
    <BenchForm
      path="coat"
      props={props}
      hidden={{ bucket: bucket.code, face, confirm: isAsked ? 'yes' : undefined }}
    >
      <Choice
        name="way"
        label="How"
        value={face === 'inside' ? 'pour' : 'dip'}
        options={[
          { value: 'dip', label: 'Dipped' },
          { value: 'pour', label: 'Poured' },
        ]}
      />
      <NumberField name="seconds" label="You counted to" hint="Seconds, if you counted." optional />
      {(face !== 'inside' || isLast) && (
        <Check
          name="heldBack"
          label="Foot wiped clean"
          hint={`Glaze ends ${settings.heldBackMm} mm above it, further where it runs. Tick it once it is so.`}
        />
      )}
      <More summary="Weigh it too" open={wrong}>
        <div class="form">
          <p class="hint">
            Just before and just after: then one knows how thick the coat is and, later, whether it is dry.
            {others.length > 0 && ' One piece alone: take the tick off the others.'}
          </p>
          <Beside>
            <NumberField
              name="beforeGrams"
              label="Before"
              unit="g"
              {...(route.coats.length === 0 &&
                route.bareGrams !== null && { hint: `Bare, this one weighed ${route.bareGrams} g.` })}
              {...(known !== null && { value: String(known) })}
              optional
            />
            <NumberField name="afterGrams" label="Just after" unit="g" optional />
          </Beside>
        </div>
      </More>
      <Submit
        label={isAsked ? 'Yes, it is one more' : DONE_WORDS[face]}
        small="Tap it when the coat is on. The bucket's own book gets it too."
      />
    </BenchForm>
  );
}

/** Asks for the bucket first: what to count depends on it. */
function PickBucket({ piece, buckets, face }: GlazingProps & { face: CoatFace }) {
  return (
    <Form action={`/ware/${piece.number}/glazing`} method="get" id="pick" hidden={{ coat: face }}>
      <Select name="bucket" label="Which glaze" options={bucketOptions(buckets, piece.final)} />
      <Submit label="Show what to count" />
    </Form>
  );
}

const FACES: Option[] = [
  { value: 'outside', label: 'Outside' },
  { value: 'inside', label: 'Inside' },
  { value: 'over', label: 'Over what is on' },
  { value: 'all', label: 'All over' },
];

/** What is not the next step but may be done: another plan, another coat, whatever the wall is like. */
function OtherWays(props: GlazingProps & { step: BenchStep }) {
  const { piece, step, route, buckets, refused, coming } = props;
  const isDone = step.do === 'foot' || step.do === 'hand-in';
  return (
    <>
      {step.do === 'wait' && coming?.bucket && (
        <More summary="Put the coat on all the same" open={refused === 'coat'}>
          <p>
            On a wet wall it comes out thin, may crawl or flake off. Nobody stops you; it is written down as
            it was.
          </p>
          <Count coming={coming} bucket={coming.bucket} />
          <CoatForm {...props} coming={coming} bucket={coming.bucket} />
        </More>
      )}
      <More summary={isDone ? 'One more coat' : 'Another coat than this'}>
        <Form action={`/ware/${piece.number}/glazing`} method="get" id="another">
          <Select
            name="bucket"
            label="Which glaze"
            value={coming?.bucket?.code ?? ''}
            options={bucketOptions(buckets, piece.final)}
          />
          <Choice
            name="coat"
            label="Where"
            value={coming?.face ?? (isDone ? 'over' : 'outside')}
            options={FACES}
          />
          <Submit label="Show what to count" look="plain" />
        </Form>
      </More>
      {(route.coats.length === 0 || route.plan !== null) && (
        <More summary={route.plan === null ? 'Make a plan' : 'Change the plan'} open={refused === 'plan'}>
          <PlanForm {...props} />
        </More>
      )}
      {step.do !== 'wait' && route.coats.length > 0 && (
        <More summary="Weigh it" open={refused === 'weigh'}>
          <WeighForm {...props} />
        </More>
      )}
    </>
  );
}

function Coats(props: GlazingProps & { raw: PieceGlaze[] }) {
  const { raw, step, refused, form } = props;
  return (
    <ol class="glaze-list">
      {raw.map((glaze) => {
        const { position } = glaze;
        const mine = refused === 'scratch' && form.typed.position === String(position);
        return (
          <li key={position}>
            <CoatLine glaze={glaze}>
              {step !== null && (
                <More summary="Scratched through with a pin" open={mine}>
                  <BenchForm
                    path="scratch"
                    id={`scratch-${position}`}
                    mine={mine}
                    props={props}
                    alone
                    hidden={{ position }}
                  >
                    <NumberField
                      name="mm"
                      label="The coat is"
                      unit="mm"
                      hint="Dry, where it does not show. Wipe the crumbs up wet."
                    />
                    <Submit label="That thick" look="plain" />
                  </BenchForm>
                </More>
              )}
            </CoatLine>
          </li>
        );
      })}
    </ol>
  );
}

function Weighings({ piece, route, reader }: GlazingProps) {
  if (route.weighings.length === 0) return null;
  return (
    <>
      <h3>Weighed since its last coat</h3>
      <ul class="weighings">
        {route.weighings.map(({ event, at, grams }) => (
          <li key={event}>
            <span>
              <strong>{Number(grams.toFixed(1))} g</strong>{' '}
              <span class="soft">{shownTime(at, reader.now, reader.timeZone)}</span>
            </span>
            <PlainAct
              post={`/ware/${piece.number}/strike-weighing`}
              idempotencyKey={`${reader.key}-strike-${event}`}
              fields={{ event }}
              label={
                <>
                  Strike out<span class="hidden-text"> {Number(grams.toFixed(1))} g</span>
                </>
              }
            />
          </li>
        ))}
      </ul>
    </>
  );
}
