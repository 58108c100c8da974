import type { FormState } from '../../server/core/routes.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { firingActs } from '../../server/kilns/firing-acts.ts';
import type { LoadPage, LoadPiece } from '../../server/kilns/service/index.ts';
import { sizeWords } from '../../server/ware/sentences.ts';
import { Form, Select, Submit, TextArea } from '../ui/field.tsx';
import { Empty, Facts, Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { Act, Acts, PlainAct } from '../ui/verdict.tsx';
import { PlanKey } from './level-plan.tsx';
import { LoadEvents } from './load-events.tsx';
import { furnitureOf } from './load-geometry.ts';
import {
  Checks,
  DragForm,
  estimateFacts,
  floorsOfLoad,
  HeatCaution,
  LevelFigure,
  LoadIt,
  LoadSentence,
  LoadTitle,
  levelsOf,
  loadAddress,
  looksOf,
  pieceAddress,
} from './load-parts.tsx';
import { isToCome, percent, upper } from './load-words.ts';
import { floorName, furnitureWords, mm, pieceCount } from './plan-parts.tsx';
import { SideView } from './side-view.tsx';

interface Props {
  page: LoadPage;
  form: FormState;
  /** What came of the last act. */
  done: string | null;
  /** Address of the script that lets pieces be dragged. */
  script: string;
  /** What ramps and holds are called here. */
  scheduleWord: string;
  /** Those in use for its kind of firing and cone. */
  schedules: { number: number; name: string }[];
  reader: LoadReader;
}

export function LoadPageView(props: Props) {
  const { page, form, done, reader } = props;
  const { load, pieces } = page;
  const floors = floorsOfLoad(load);
  const lookOf = looksOf(pieces);
  const mayChange = reader.mayPlan && (load.state === 'proposed' || load.state === 'approved');
  const isCancel = form.typed.reason !== undefined;
  return (
    <>
      {form.errors.length > 0 && !isCancel && (
        <Flash tone="refused" words={form.errors.map(({ message }) => message).join(' ')} />
      )}
      {form.errors.length === 0 && done && <Flash words={done} />}
      <LoadTitle load={load} />
      <LoadSentence page={page} reader={reader} />
      {['loaded', 'firing', 'cooling'].includes(load.state) && <HeatCaution load={load} />}
      {load.state !== 'proposed' && <NextAct {...props} />}
      {pieces.some(({ mine }) => mine) && !reader.mayPlan && <Mine pieces={pieces} />}
      {pieces.length === 0 ? (
        <Empty title="Nothing is in it">
          <p>{mayChange ? 'Put a piece in, or cancel it.' : 'Its pieces went back to the queue.'}</p>
        </Empty>
      ) : (
        <div class="plans">
          <figure>
            <SideView problem={load.problem} floors={floors} lookOf={lookOf} />
            <figcaption>From the front</figcaption>
            <ul class="plan-key">
              {furnitureWords(furnitureOf(load.problem, floors)).map((words) => (
                <li key={words}>{words}</li>
              ))}
            </ul>
            <PlanKey
              problem={load.problem}
              floors={floors}
              looks={floors.flatMap(({ ids }) => ids).map(lookOf)}
            />
          </figure>
          {levelsOf(floors).map((level) => (
            <LevelFigure
              key={level[0]?.level}
              load={load}
              floors={level}
              pieces={pieces}
              isMovable={mayChange}
              fits={mayChange ? page.fits : []}
              hrefOf={mayChange ? (number) => pieceAddress(load.number, number) : undefined}
            />
          ))}
        </div>
      )}
      {mayChange && pieces.length > 0 && (
        <DragForm
          action={`${loadAddress(load.number)}/move`}
          version={load.version}
          script={props.script}
          reader={reader}
        />
      )}
      {load.state === 'proposed' && reader.mayPlan && <Approval {...props} />}
      {(load.state === 'approved' || load.state === 'loaded') && <ComeToLight {...props} />}
      {mayChange && <Changes {...props} />}
      <div class="split">
        <Panel title="What it takes">
          <Facts items={[...scheduleFact(props), ...estimateFacts(page, reader)]} />
          <OtherSchedule {...props} />
          {reader.mayPlan && isToCome(load) && (
            <PlainAct
              href={`${loadAddress(load.number)}/plan`}
              label={load.startsAt === null ? 'Find a time for it' : 'Another time for it'}
            />
          )}
        </Panel>
        <div>
          <LoadEvents events={page.events} reader={reader} />
          <Details {...props} />
        </div>
      </div>
      {reader.mayPlan && isToCome(load) && <Cancel {...props} />}
      <p class="row screen-only">
        {load.state !== 'cancelled' && (
          <a class="plain" href={`${loadAddress(load.number)}/sheet`}>
            Load sheet
          </a>
        )}
        <a class="plain" href="/kilns/loads">
          All loads
        </a>
      </p>
    </>
  );
}

/** A member's own pieces, before anything else they would have to look for. */
function Mine({ pieces }: { pieces: LoadPiece[] }) {
  const own = pieces.filter(({ mine }) => mine).sort((a, b) => a.number - b.number);
  return (
    <Panel title={own.length === 1 ? 'Your piece in it' : `Your ${own.length} pieces in it`}>
      <ul class="piece-list">
        {own.map((piece) => (
          <li key={piece.number}>
            <a class="piece-number" href={`/ware/${piece.number}`}>
              {piece.number}
            </a>
            <span>
              {piece.form}, {floorName(piece).toLowerCase()}
            </span>
          </li>
        ))}
      </ul>
    </Panel>
  );
}

/** What this state asks for next, of whoever may do it; what else may be done stands below it. */
function NextAct({ page: { load }, reader }: Props) {
  if (load.state === 'approved') return reader.mayLoad ? <LoadIt load={load.number} /> : null;
  const [next, ...others] = firingActs(load, reader);
  if (!next) return null;
  // Done with, or nothing to do for whoever looks: no act of it stands out.
  const isQuiet = load.state === 'unloaded' || others.length === 0;
  return (
    <div class="screen-only">
      {!isQuiet && <Act {...next} />}
      <Acts>
        {(isQuiet ? [next, ...others] : others).map((act) => (
          <PlainAct key={act.href} {...act} />
        ))}
      </Acts>
    </div>
  );
}

function Approval({ page: { load, checks }, reader }: Props) {
  const open = checks.filter(({ ok }) => !ok).length;
  return (
    <Panel title="Before you approve" id="approve">
      <Checks checks={checks} mends={{ plan: <PackAgain load={load} reader={reader} at="plan" /> }} />
      <div class="narrow">
        <Act
          post={`${loadAddress(load.number)}/approve`}
          idempotencyKey={`${reader.key}-approve`}
          fields={{ version: load.version }}
          label="Approve this load"
          small={
            open === 0
              ? 'It takes its pieces from the queue. Cones, posts and vent are checked before firing.'
              : `${open === 1 ? 'One check is' : `${open} checks are`} still open: mend ${open === 1 ? 'it' : 'them'} first.`
          }
        />
      </div>
    </Panel>
  );
}

/** What a check found after the load was approved. */
function ComeToLight({ page: { load, checks }, reader }: Props) {
  const open = checks.filter(({ ok }) => !ok);
  if (open.length === 0) return null;
  return (
    <Notice title="This has come to light since it was approved" tone="do-not-use">
      <Checks
        checks={open}
        mends={load.state === 'approved' ? { plan: <PackAgain load={load} reader={reader} at="plan" /> } : {}}
      />
    </Notice>
  );
}

function Changes({ page, reader }: Props) {
  const { load, fits, notYetIn } = page;
  const at = loadAddress(load.number);
  const { pins, leftOut } = load.wishes;
  const version = { version: load.version };
  const [largest] = [...fits].sort((a, b) => b.circleMm - a.circleMm);
  return (
    <Panel title="Change it" id="change">
      <p>
        To move a piece, pick its number under a level. With a mouse, drag it; on a touch screen pick it
        first.
      </p>
      <p>
        {largest === undefined
          ? 'Nothing worth a word still fits.'
          : `What still fits is under each level; the most: ${floorName(largest).toLowerCase()}, one ${largest.circleMm} mm piece up to ${mm(largest.heightMm)} high.`}
      </p>
      {notYetIn.length > 0 && (
        <More
          summary={`Put another piece in (${notYetIn.length} ${notYetIn.length === 1 ? 'waits' : 'wait'})`}
        >
          <ul class="piece-list">
            {notYetIn.map((piece) => (
              <li key={piece.number}>
                <a class="piece-number" href={pieceAddress(load.number, piece.number)}>
                  {piece.number}
                </a>
                <span>
                  {piece.form}, {sizeWords(piece.asPacked)}
                  {piece.owner && `, ${piece.owner.name}`}
                  {!piece.isReady && <b> · not ready</b>}
                </span>
              </li>
            ))}
          </ul>
        </More>
      )}
      {(Object.keys(pins).length > 0 || leftOut.length > 0) && (
        <More summary="Pinned and left out" open>
          <ul class="wishes">
            {Object.entries(pins).map(([number, level]) => (
              <li key={number}>
                <span>
                  Piece {number} stays on level {level}.
                </span>
                <PlainAct
                  post={`${at}/unpin`}
                  idempotencyKey={`${reader.key}-unpin-${number}`}
                  fields={{ piece: number, ...version }}
                  label={`Unpin ${number}`}
                />
              </li>
            ))}
            {leftOut.map((number) => (
              <li key={number}>
                <span>Piece {number} is left out of this load.</span>
                <a class="plain" href={pieceAddress(load.number, number)}>
                  Put {number} in
                </a>
              </li>
            ))}
          </ul>
        </More>
      )}
      <PackAgain load={load} reader={reader} at="change" />
    </Panel>
  );
}

/** @param at where on the page it stands: each form has a key of its own */
function PackAgain({ load, reader, at }: { load: LoadPage['load']; reader: LoadReader; at: string }) {
  return (
    <PlainAct
      post={`${loadAddress(load.number)}/repack`}
      idempotencyKey={`${reader.key}-repack-${at}`}
      fields={{ version: load.version }}
      label="Pack the rest again"
      small="What is pinned stays where it is. Takes a few seconds."
    />
  );
}

function scheduleFact({ page: { load }, scheduleWord, reader }: Props): Parameters<typeof Facts>[0]['items'] {
  const { schedule } = load;
  const name = upper(scheduleWord);
  if (!schedule)
    return [
      [name, reader.mayPlan ? <a href="/kilns/schedules">None for this firing yet: make one</a> : 'None yet'],
    ];
  return [[name, <a href={`/kilns/schedules/${schedule.number}`}>{schedule.name}</a>]];
}

function OtherSchedule({ page: { load }, schedules, scheduleWord, form, reader }: Props) {
  const others = schedules.filter(({ number }) => number !== load.schedule?.number);
  const mayChoose = reader.mayPlan && isToCome(load);
  if (!mayChoose || others.length === 0) return null;
  const isHere = form.typed.schedule !== undefined;
  return (
    <More summary={`Another ${scheduleWord}`} open={isHere || !load.schedule}>
      <Form
        id="schedule"
        action={`${loadAddress(load.number)}/schedule`}
        form={isHere ? form : undefined}
        idempotencyKey={`${reader.key}-schedule`}
        hidden={{ version: load.version }}
      >
        <Select
          name="schedule"
          label={`Fire it by this ${scheduleWord}`}
          options={others.map(({ number, name }) => ({ value: String(number), label: name }))}
        />
        <Submit label="Choose it" look="plain" />
      </Form>
    </More>
  );
}

/** For who wants to know how good the packing is. */
function Details({ page: { load } }: Props) {
  const { gap } = load.bound;
  return (
    <More summary="Details of the packing">
      <p>
        {gap <= 0
          ? 'Proven: nothing that waited makes a load worth more.'
          : `Within ${percentUp(gap)} of a proven upper bound: no load of what waited can be worth more than that.`}
      </p>
      <p class="soft">
        Worth counts how long pieces waited, the dates they are wanted by, and a fair turn for everybody.
        {load.wishes.leftOut.length + Object.keys(load.wishes.pins).length > 0 &&
          ' The bound is that of the last packing.'}{' '}
        Packer seed {load.problem.seed ?? 1}.
      </p>
    </More>
  );
}

/** Rounded up: never nearer than was proven. */
const percentUp = (share: number): string => percent(Math.ceil(100 * share) / 100);

function Cancel({ page: { load, pieces }, form, reader }: Props) {
  const isHere = form.typed.reason !== undefined;
  return (
    <div class="screen-only narrow">
      <More summary="Cancel this load" open={isHere}>
        {load.state === 'loaded' && (
          <Notice title="It stands in the kiln" tone="ask-technician">
            <p>Take everything out first, shelf by shelf from the top.</p>
          </Notice>
        )}
        <Form
          id="cancel"
          action={`${loadAddress(load.number)}/cancel`}
          form={isHere ? form : undefined}
          idempotencyKey={`${reader.key}-cancel`}
        >
          <TextArea
            name="reason"
            label="Why"
            hint="Whoever waits for it reads this."
            rows={2}
            maxlength={300}
          />
          <Submit
            label={`Cancel load ${load.number}`}
            small={
              load.state === 'proposed'
                ? undefined
                : `${pieceCount(pieces.length)} go back to the queue, each at its old place.`
            }
            look="plain danger"
          />
        </Form>
      </More>
    </div>
  );
}
