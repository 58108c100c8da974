import type { ComponentChildren } from 'preact';
import { moneyText } from '../../server/core/money.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { coolingRead } from '../../server/kilns/calendar.ts';
import { COOLING_CAUTION } from '../../server/kilns/cooling.ts';
import type { LoadNow, LoadPage, LoadPiece } from '../../server/kilns/service/index.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { More, Notice } from '../ui/panel.tsx';
import { Act } from '../ui/verdict.tsx';
import { LevelPlan, levelTitle } from './level-plan.tsx';
import { type Floor, floorsOf } from './load-geometry.ts';
import { LoadStateIcon } from './load-state.tsx';
import { forecastWords, hoursText, listed, percent } from './load-words.ts';
import { floorWords, type Look, mm, pieceCount } from './plan-parts.tsx';

/** Where a level is drawn on the page of its load. */
export const levelAnchor = (level: number): string => `level-${level}`;

export const loadAddress = (number: number): string => `/kilns/loads/${number}`;

export const pieceAddress = (load: number, piece: number): string => `${loadAddress(load)}/pieces/${piece}`;

/** By level from the floor, both halves of one level together, the left one first. */
export function levelsOf(floors: Floor[]): Floor[][] {
  const numbers = [...new Set(floors.map(({ level }) => level))].sort((a, b) => a - b);
  return numbers.map((number) =>
    floors.filter(({ level }) => level === number).sort((a, b) => a.part.localeCompare(b.part)),
  );
}

export const floorsOfLoad = ({ problem, plan }: LoadNow): Floor[] => floorsOf(problem, plan);

/** 'Load 214 proposed · glaze, cone 6 oxidation' */
export function LoadTitle({ load }: { load: LoadNow }) {
  return (
    <h1 class="load-title">
      Load {load.number}{' '}
      <span class="soft">
        <LoadStateIcon state={load.state} /> {load.state} · {firingWords(load.firing)}
      </span>
    </h1>
  );
}

/** How much is in it, when it fires and when it is likely cold. */
export function LoadSentence({ page, reader }: { page: LoadPage; reader: LoadReader }) {
  const { load, pieces } = page;
  const levels = levelsOf(floorsOfLoad(load)).length;
  const owners = new Set(pieces.map(({ owner }) => owner).filter(Boolean));
  const mine = pieces.filter(({ mine }) => mine).length;
  const of =
    reader.mayPlan && owners.size > 0
      ? ` of ${owners.size === 1 ? 'one owner' : `${owners.size} owners`}`
      : '';
  return (
    <p>
      {pieceCount(pieces.length)}
      {of} on {levels === 1 ? 'one level' : `${levels} levels`} in {load.kiln.name}
      {mine > 0 && `, ${mine === pieces.length ? 'all' : mine} of them yours`}.{' '}
      <b>
        {percent(load.use.area)} of the shelves, {percent(load.use.volume)} of the space
      </b>
      . {timesWords(page, reader)}
    </p>
  );
}

/** 'Fires Thursday 18:00; cold enough to open about Saturday 09:30 to 11:30, by the pyrometer only.' */
function timesWords({ load, opens }: LoadPage, { now, timeZone }: LoadReader): string {
  const cold = opens
    ? `; cold enough to open ${forecastWords(opens, { now, timeZone })}, by the pyrometer only.`
    : '.';
  const at = (instant: number) => shownTime(instant, now, timeZone);
  const { startsAt, startedAt } = load;
  switch (load.state) {
    case 'unloaded':
      return load.unloadedAt === null ? '' : `Unloaded ${at(load.unloadedAt)}.`;
    case 'cancelled':
      return load.cancelledAt === null ? '' : `Cancelled ${at(load.cancelledAt)}.`;
    case 'cooling': {
      if (load.openedAt !== null) return `Opened ${at(load.openedAt)}.`;
      const read = coolingRead(load);
      const last = read
        ? `last read ${Math.round(read.c)} °C, ${at(read.at)}`
        : 'nobody has read the pyrometer since';
      return `Shut off${load.shutOffAt === null ? '' : ` ${at(load.shutOffAt)}`}, ${last}${cold}`;
    }
    case 'firing':
      return `Started${startedAt === null ? '' : ` ${at(startedAt)}`}${cold}`;
    default:
      if (startsAt === null) return 'Not on the calendar yet.';
      return startsAt < now ? `Was to fire ${at(startsAt)}.` : `Fires ${at(startsAt)}${cold}`;
  }
}

/** What it will take, said as an estimate. */
export function estimateFacts({ load, estimate }: LoadPage, reader: LoadReader): [string, string][] {
  if (!estimate) return [];
  const { hours, openHours, coolHours, kWh, costMinor } = estimate;
  const range = ({ from, to }: { from: number; to: number }) =>
    from === to ? hoursText(from) : `${hoursText(from)} to ${hoursText(to)}`;
  const facts: [string, string | false][] = [
    ['Firing', `${hoursText(hours)}, estimate`],
    ['To open it', `${range(openHours)} after the last step, estimate`],
    ['To empty it', `${range(coolHours)} after the last step, estimate`],
    ['Energy and cost', load.kiln.power === 'gas' && 'gas: not metered here'],
    ['Energy', kWh !== null && `about ${Math.round(kWh)} kWh, estimate`],
    ['Cost', costMinor !== null && `about ${moneyText(BigInt(costMinor), reader.currency)}, estimate`],
    ['Power', load.kiln.kilowatts !== null && `${load.kiln.kilowatts} kW at full power`],
  ];
  return facts.filter((fact): fact is [string, string] => fact[1] !== false);
}

/** Wherever somebody handles a kiln. */
export function HeatCaution({
  load,
}: {
  load?: Pick<LoadNow, 'state' | 'measuredC' | 'measuredAt' | 'shutOffAt'> | null;
}) {
  const isHot = load?.state === 'firing' || load?.state === 'cooling';
  // Of a kiln that cools, a reading from before it was shut off says nothing.
  const c = load?.state === 'cooling' ? coolingRead(load)?.c : load?.measuredC;
  const measured = c == null ? '' : ` Last read: ${Math.round(c)} °C. Read it again yourself.`;
  return (
    <Notice title={isHot ? 'It is hot' : 'A kiln may be hot'} tone="ask-technician">
      <p>
        {COOLING_CAUTION}
        {isHot && measured} Isolate it and lock it off before reaching in.
      </p>
    </Notice>
  );
}

interface LevelFigureProps {
  load: LoadNow;
  floors: Floor[];
  pieces: LoadPiece[];
  isMovable: boolean;
  /** Where the number of a piece leads. */
  hrefOf?: ((number: number) => string) | undefined;
  /** What still finds room, of the whole load. */
  fits: LoadPage['fits'];
}

/** One level: its plan, and every piece on it by name. */
export function LevelFigure(props: LevelFigureProps) {
  const { load, floors, pieces, isMovable, hrefOf } = props;
  const level = floors[0]?.level ?? 0;
  const stillFits = props.fits.filter((fit) => fit.level === level);
  return (
    <figure id={levelAnchor(level)}>
      <LevelPlan
        problem={load.problem}
        floors={floors}
        id={`plan-${floors.map(({ part }) => part).join('-')}-${level}`}
        controls={load.kiln.controls}
        opens={load.kiln.opens}
        lookOf={looksOf(pieces)}
        isMovable={isMovable}
      />
      <figcaption>
        {floors.map((floor) => (
          <p key={floor.part}>{floorWords(floor)}</p>
        ))}
        {stillFits.map((fit) => (
          <p key={fit.part} class="soft">
            Still fits{fit.part === 'full' ? '' : ` ${fit.part}`}: one {fit.circleMm} mm piece up to{' '}
            {mm(fit.heightMm)} high
          </p>
        ))}
      </figcaption>
      <More summary={`Who stands on ${levelTitle(floors).toLowerCase()}`}>
        <PieceList floors={floors} pieces={pieces} hrefOf={hrefOf} />
      </More>
    </figure>
  );
}

/** Own pieces and the chosen one. */
export function looksOf(pieces: LoadPiece[], chosen?: number): (id: string) => Look {
  const mine = new Set(pieces.filter((piece) => piece.mine).map(({ number }) => String(number)));
  return (id) => (id === String(chosen) ? 'chosen' : mine.has(id) ? 'mine' : 'plain');
}

/** From the back to the front, as they are met when looking down on the plan. */
export function PieceList({
  floors,
  pieces,
  hrefOf,
}: {
  floors: Floor[];
  pieces: LoadPiece[];
  hrefOf?: ((number: number) => string) | undefined;
}) {
  const byId = new Map(pieces.map((piece) => [String(piece.number), piece]));
  const stands = floors.flatMap((floor) => floor.stands).sort((a, b) => b.yMm - a.yMm || a.xMm - b.xMm);
  return (
    <ul class="piece-list">
      {stands.flatMap(({ ids }) =>
        ids.map((id, i) => {
          const piece = byId.get(id);
          const under = ids[i - 1];
          return (
            <li key={id}>
              {hrefOf ? (
                <a class="piece-number" href={hrefOf(Number(id))}>
                  {id}
                </a>
              ) : (
                <b class="piece-number">{id}</b>
              )}
              <span>
                {piece ? pieceWords(piece) : 'no longer known'}
                {under !== undefined && <small class="soft"> stands on {under}</small>}
              </span>
            </li>
          );
        }),
      )}
    </ul>
  );
}

/** 'bowl, Ida, Chalk' for who may see it; 'yours' for the owner. */
export function pieceWords({ form, owner, mine, glazes, isRunny, trayMm, wantedBy }: LoadPiece): string {
  return [
    form,
    mine ? 'yours' : owner,
    glazes.length > 0 && listed(glazes),
    isRunny && 'runny',
    trayMm > 0 && `tray ${trayMm} mm`,
    wantedBy && `wanted by ${wantedBy}`,
  ]
    .filter(Boolean)
    .join(', ');
}

/** What was looked at, an answer a check; beside an open one what mends it. */
export function Checks<Key extends string>({
  checks,
  open = 'Open',
  mends = {},
}: {
  checks: { check: Key; ok: boolean; words: string }[];
  /** Said before one that is. */
  open?: string;
  mends?: Partial<Record<Key, ComponentChildren>>;
}) {
  return (
    <ul class="checks">
      {checks.map(({ check, ok, words }) => (
        <li key={check} class={ok ? undefined : 'is-open'}>
          <span class="check-mark" aria-hidden="true">
            {ok ? '✓' : '!'}
          </span>
          <span>
            {!ok && <b>{open}: </b>}
            {words}
            {!ok && mends[check]}
          </span>
        </li>
      ))}
    </ul>
  );
}

/** From approved on to the kiln. */
export const LoadIt = ({ load }: { load: number }) => (
  <Act
    href={`${loadAddress(load)}/load`}
    label="Load it"
    small="One level at a time from the floor, a photo of each."
  />
);

/** What the script fills in and sends when a piece was dragged; the same act as the page of a piece. */
export function DragForm({
  action,
  version,
  script,
  reader,
}: {
  action: string;
  version: number;
  script: string;
  reader: LoadReader;
}) {
  return (
    <>
      <form id="drag" method="post" action={action} hx-boost="false" hidden>
        <input type="hidden" name="key" value={`${reader.key}-drag`} />
        <input type="hidden" name="version" value={version} />
        {['piece', 'part', 'level', 'xMm', 'yMm', 'turned'].map((name) => (
          <input key={name} type="hidden" name={name} value="" />
        ))}
      </form>
      <script type="module" src={script} />
    </>
  );
}
