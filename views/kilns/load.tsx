import { firingActs } from '../../server/kilns/firing-acts.ts';
import type { LoadPiece } from '../../server/kilns/service/index.ts';
import { liveRegion } from '../ui/live.ts';
import { Empty, Facts, Flash, More, Panel } from '../ui/panel.tsx';
import { Act, Acts, PlainAct } from '../ui/verdict.tsx';
import { PlanKey } from './level-plan.tsx';
import { Approval, Cancel, Changes, ComeToLight, type LoadProps, OtherSchedule } from './load-changes.tsx';
import { LoadEvents } from './load-events.tsx';
import { furnitureOf } from './load-geometry.ts';
import {
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
import { floorName, furnitureWords } from './plan-parts.tsx';
import { SideView } from './side-view.tsx';

export function LoadPageView(props: LoadProps) {
  const { form, done } = props;
  const isCancel = form.typed.reason !== undefined;
  return (
    <>
      {form.errors.length > 0 && !isCancel && (
        <Flash tone="refused" words={form.errors.map(({ message }) => message).join(' ')} />
      )}
      {form.errors.length === 0 && done && <Flash words={done} />}
      <LoadRegion {...props} />
    </>
  );
}

/** All of it but what was just done: others may move, load and fire it meanwhile. */
export function LoadRegion(props: LoadProps) {
  const { page, reader } = props;
  const { load, pieces } = page;
  const floors = floorsOfLoad(load);
  const lookOf = looksOf(pieces);
  const mayChange = reader.mayPlan && (load.state === 'proposed' || load.state === 'approved');
  return (
    <div id="load" {...liveRegion({ on: 'load', href: loadAddress(load.number) })}>
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
    </div>
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
function NextAct({ page: { load }, reader }: LoadProps) {
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

function scheduleFact({
  page: { load },
  scheduleWord,
  reader,
}: LoadProps): Parameters<typeof Facts>[0]['items'] {
  const { schedule } = load;
  const name = upper(scheduleWord);
  if (!schedule)
    return [
      [name, reader.mayPlan ? <a href="/kilns/schedules">None for this firing yet: make one</a> : 'None yet'],
    ];
  return [[name, <a href={`/kilns/schedules/${schedule.number}`}>{schedule.name}</a>]];
}

/** For who wants to know how good the packing is. */
function Details({ page: { load } }: LoadProps) {
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
