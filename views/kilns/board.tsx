import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { firingActs } from '../../server/kilns/firing-acts.ts';
import type { Board, KilnOnBoard, OnCalendar } from '../../server/kilns/service/index.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { State } from '../ui/icons.tsx';
import { liveRegion } from '../ui/live.ts';
import { Empty, More } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { BoardMark } from './board-state.tsx';
import { HeatCaution, loadAddress } from './load-parts.tsx';
import { forecastWords } from './load-words.ts';

interface Props {
  board: Board;
  /** For technicians: kilns that are in no list any more. */
  retired: { code: string; name: string }[];
  reader: BoardReader & { seesFaults: boolean };
}

type BoardReader = LoadReader & { mayEdit: boolean };

export function BoardPage(props: Props) {
  const { board, retired, reader } = props;
  return (
    <>
      <h1>Kilns</h1>
      <KilnBoard {...props} />
      <h2>Around the kilns</h2>
      <nav class="row" aria-label="Around the kilns">
        <a class="plain" href="/kilns/loads">
          Loads
        </a>
        <a class="plain" href="/kilns/calendar">
          Calendar
        </a>
        <a class="plain" href="/kilns/schedules">
          {board.settings.scheduleWord === 'programme' ? 'Programmes' : 'Schedules'}
        </a>
        {reader.seesFaults && (
          <a class="plain" href="/kilns/faults">
            Faults
          </a>
        )}
        {reader.mayEdit && (
          <>
            <a class="plain" href="/kilns/settings">
              Settings
            </a>
            {board.kilns.length > 0 && (
              <a class="plain" href="/kilns/new">
                New kiln
              </a>
            )}
          </>
        )}
      </nav>
      {retired.length > 0 && (
        <More summary="Retired kilns">
          <ul class="news">
            {retired.map(({ code, name }) => (
              <li key={code}>
                <a href={`/kilns/${code}`}>
                  {name} <span class="code">{code}</span>
                </a>
              </li>
            ))}
          </ul>
        </More>
      )}
    </>
  );
}

/** Every kiln; it asks for itself again, so that a screen left open stays true. */
export function KilnBoard({ board, reader }: Props) {
  if (board.kilns.length === 0)
    return (
      <div id="board" {...liveRegion({ on: 'kilns', href: '/kilns' })}>
        <Empty title="No kiln yet">
          {reader.mayEdit ? (
            <>
              <p>Measure the first one: its shelf, its posts, how high it is inside.</p>
              <a class="do" href="/kilns/new">
                Add the first kiln
              </a>
            </>
          ) : (
            <p>A technician adds the first one. Its state shows here from then on.</p>
          )}
        </Empty>
      </div>
    );
  return (
    <div id="board" {...liveRegion({ on: 'kilns', href: '/kilns' })}>
      <HeatCaution />
      <ul class="wall boards">
        {board.kilns.map((one) => (
          <li key={one.kiln.code}>
            <KilnCard one={one} reader={reader} />
          </li>
        ))}
      </ul>
    </div>
  );
}

/**
 * A kiln as its board says it.
 * @param isOwnPage on the page of this kiln, which has its name above it
 */
export function KilnCard({
  one,
  isOwnPage,
  reader,
}: {
  one: KilnOnBoard;
  isOwnPage?: boolean;
  reader: BoardReader;
}) {
  const { kiln, state, load, whoOpens, next } = one;
  const act = actOf(one, reader);
  return (
    <article class={`on-board is-${state}`}>
      <BoardMark state={state} />
      {!isOwnPage && (
        <h2 class="lid-name">
          <span>
            <a href={`/kilns/${kiln.code}`}>{kiln.name}</a> <span class="code">{kiln.code}</span>
          </span>
        </h2>
      )}
      {one.offSince !== null && (
        <p>
          <State state="do-not-use" words="Past its latest shut-off" />: the burners were to be off by{' '}
          {shownTime(one.offSince, reader.now, reader.timeZone)}. Go and look.
        </p>
      )}
      <Measured one={one} reader={reader} />
      {kiln.service === 'out-of-service' && (
        <p>
          {state !== 'out-of-service' && <b>Out of service. </b>}
          {kiln.serviceCause || 'No cause was noted.'}
        </p>
      )}
      {load && (
        <p>
          <a href={loadAddress(load.number)}>Load {load.number}</a>, {firingWords(load.firing)}
          {load.state === 'loaded' && (load.place ? `, fires ${at(load, reader)}` : ', not started')}
        </p>
      )}
      {whoOpens && <p>{whoOpens}</p>}
      {load?.opens && load.state !== 'loaded' && !load.openedAt && (
        <p class="soft">Cold enough to open {forecastWords(load.opens, reader)}. An estimate.</p>
      )}
      {next && (
        <p>
          Next: <a href={loadAddress(next.number)}>load {next.number}</a>, {firingWords(next.firing)},{' '}
          {next.place ? at(next, reader) : 'no time yet'}
        </p>
      )}
      {!load && !next && kiln.service === 'in-service' && <p class="soft">Nothing is planned for it.</p>}
      {act && <PlainAct {...act} />}
    </article>
  );
}

const at = ({ place }: OnCalendar, { now, timeZone }: BoardReader): string =>
  place ? shownTime(place.startsAt, now, timeZone) : '';

/** The newest typed reading; of a kiln that cools only one since it was shut off counts. */
function Measured({ one: { load, measured, state }, reader }: { one: KilnOnBoard; reader: BoardReader }) {
  const time = (instant: number) => shownTime(instant, reader.now, reader.timeZone);
  if (load?.state === 'cooling' && load.shutOffAt !== null && (!measured || measured.at < load.shutOffAt))
    return <p>Not read since it was shut off, {time(load.shutOffAt)}.</p>;
  if (load?.state === 'firing' && (!measured || measured.at < (load.startedAt ?? 0)))
    return <p>Not read since it was started.</p>;
  if (!measured) return null;
  const isNow = state === 'firing' || load?.state === 'cooling';
  return (
    <p class={isNow ? 'board-read' : 'soft'}>
      {isNow ? <b>{Math.round(measured.c)} °C</b> : `Last read ${Math.round(measured.c)} °C,`}{' '}
      <span class="soft">
        {isNow && 'read '}
        {time(measured.at)}
      </span>
    </p>
  );
}

/** What this kiln wants next of whoever looks; null where that is nothing. */
function actOf(
  { kiln, load, next }: KilnOnBoard,
  reader: BoardReader,
): { label: string; href: string } | null {
  if (load) {
    const [first] = firingActs(load, reader);
    return first ? { label: first.label, href: first.href } : null;
  }
  if (kiln.service === 'out-of-service')
    return reader.mayEdit ? { label: 'Mended? Note it', href: `/kilns/${kiln.code}/care` } : null;
  if (!next) return null;
  const page = loadAddress(next.number);
  if (next.state === 'approved' && reader.mayLoad)
    return { label: `Load it: load ${next.number}`, href: `${page}/load` };
  return next.state === 'proposed' && reader.mayPlan
    ? { label: `Look over load ${next.number}`, href: page }
    : null;
}
