import type { FormState } from '../../server/core/routes.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { boxOf } from '../../server/kilns/chamber.ts';
import { waresOf } from '../../server/kilns/packing/ware.ts';
import type { LoadNow, LoadPage, Place } from '../../server/kilns/service/index.ts';
import { sizeWords } from '../../server/ware/sentences.ts';
import { Beside, Check, Form, NumberField, Submit } from '../ui/field.tsx';
import { Facts, Filter, Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { LevelPlan, PlanKey, type Spot } from './level-plan.tsx';
import type { Floor } from './load-geometry.ts';
import {
  DragForm,
  floorsOfLoad,
  levelsOf,
  loadAddress,
  looksOf,
  pieceAddress,
  pieceWords,
} from './load-parts.tsx';
import { floorName, floorWords, mm } from './plan-parts.tsx';

interface Props {
  page: LoadPage;
  piece: number;
  /** Legal places for it on all levels, best first. */
  places: Place[];
  /** The shelf that was asked for, 'left-2'; anything else is the best one. */
  on: string | undefined;
  form: FormState;
  script: string;
  reader: LoadReader;
}

const LETTERS = 'ABCDEF';

/** A place as its field shows it; left as it was shown, the place is kept to the last digit. */
export const wholeMm = (place: number): string => String(Math.round(place));

/** 'left-2', as it stands in addresses. */
const keyOf = ({ part, level }: Pick<Floor, 'part' | 'level'>): string => `${part}-${level}`;

/** One piece of a load, or one that might come in: where it may stand, and what else to do with it. */
export function LoadPiecePage(props: Props) {
  const { page, piece, places, on, form, script, reader } = props;
  const { load, pieces } = page;
  const floors = floorsOfLoad(load);
  const known = pieces.find(({ number }) => number === piece);
  const waiting = page.notYetIn.find(({ number }) => number === piece);
  const at = known && floors.find(({ part, level }) => part === known.part && level === known.level);
  const [best] = places;
  const floor =
    floors.find((one) => keyOf(one) === on) ??
    at ??
    floors.find((one) => best && keyOf(one) === keyOf(best)) ??
    floors[0];
  const here = at === floor ? known : undefined;
  const action = `${pieceAddress(load.number, piece)}/${known ? 'move' : 'put-in'}`;
  const spots = floor ? spotsOn(load, piece, places, floor, page) : [];
  const hidden = floor && {
    piece,
    version: load.version,
    part: floor.part,
    level: floor.level,
  };
  return (
    <>
      {form.errors.length > 0 && (
        <Flash
          tone="refused"
          words={`${form.errors.map(({ message }) => message).join(' ')} ${known ? 'It stays where it is.' : 'It is not put in.'}`}
        />
      )}
      <h1>
        Piece {piece}{' '}
        <span class="soft">
          {known ? 'in' : 'for'} load {load.number}
        </span>
      </h1>
      <Facts items={aboutPiece(known, waiting, at)} />
      {waiting && !waiting.isReady && (
        <Notice title="It is not ready yet" tone="ask-technician">
          {waiting.gates
            .filter(({ ok }) => !ok)
            .map(({ gate, words }) => (
              <p key={gate}>{words}</p>
            ))}
        </Notice>
      )}
      <Panel title={known ? 'Move it' : 'Put it in'} id="move">
        {!known && (
          <PlainAct
            post={action}
            idempotencyKey={`${reader.key}-best`}
            fields={{ piece, version: load.version }}
            label="Put it in where it fits best"
          />
        )}
        <Filter
          label="On"
          options={levelsOf(floors)
            .flat()
            .map((one) => ({
              href: `${pieceAddress(load.number, piece)}?on=${keyOf(one)}#move`,
              label: floorName(one).toLowerCase(),
              current: one === floor,
            }))}
        />
        {floor && hidden && (
          <>
            <figure class="plan-big">
              <LevelPlan
                problem={load.problem}
                floors={[floor]}
                id="plan"
                controls={load.kiln.controls}
                opens={load.kiln.opens}
                lookOf={looksOf(pieces, piece)}
                spots={spots}
                isMovable
              />
              <figcaption>{floorWords(floor)}</figcaption>
              <PlanKey
                problem={load.problem}
                floors={[floor]}
                looks={floor.ids.map(looksOf(pieces, piece))}
              />
            </figure>
            {spots.length === 0 ? (
              <p>
                No {at === floor ? 'other' : 'free'} place for it on {floorName(floor).toLowerCase()}:{' '}
                {whyNone(load, piece, floor, page)}
              </p>
            ) : (
              <ul class="spots" aria-label="Places where it may stand">
                {spots.map((spot) => (
                  <li key={spot.letter}>
                    <Form
                      id={`spot-${spot.letter}`}
                      action={action}
                      idempotencyKey={`${reader.key}-${spot.letter}`}
                      hidden={{
                        ...hidden,
                        xMm: spot.xMm,
                        yMm: spot.yMm,
                        turned: spot.turned ? 'yes' : undefined,
                      }}
                      boosted={false}
                    >
                      <Submit look="plain" label={spot.letter} small={spotWords(load, spot)} />
                    </Form>
                  </li>
                ))}
              </ul>
            )}
            {at === floor && (
              <p class="nudge">
                <button class="plain" type="button" data-nudge={piece}>
                  Move {piece} with the arrow keys
                  <small>5 mm, with Shift 1 mm, T turns it, Enter puts it there</small>
                </button>
                <output class="soft" data-nudged />
              </p>
            )}
            <More summary="Type the place in mm" open={form.typed.xMm !== undefined}>
              <Form
                id="place"
                action={action}
                form={form}
                idempotencyKey={`${reader.key}-place`}
                hidden={{ ...hidden, wasXMm: here?.xMm, wasYMm: here?.yMm }}
                boosted={false}
              >
                <Beside>
                  <NumberField name="xMm" label="To the right" unit="mm" value={here && wholeMm(here.xMm)} />
                  <NumberField name="yMm" label="To the back" unit="mm" value={here && wholeMm(here.yMm)} />
                </Beside>
                <p class="hint">
                  Of its centre, from the{' '}
                  {load.problem.shelf.shape === 'rectangle' ? 'left front corner' : 'middle'} of the shelf.
                </p>
                <Check name="turned" label="Turned by a quarter" checked={here?.turned === true} />
                <Submit label={`${known ? 'Move it' : 'Put it'} there`} look="plain" />
              </Form>
            </More>
          </>
        )}
      </Panel>
      {known && <Wishes {...props} level={known.level} />}
      {known && <DragForm action={action} version={load.version} script={script} reader={reader} />}
      <p>
        <a href={loadAddress(load.number)}>Back to load {load.number}</a>
      </p>
    </>
  );
}

function aboutPiece(
  known: LoadPage['pieces'][number] | undefined,
  waiting: LoadPage['notYetIn'][number] | undefined,
  at: Floor | undefined,
): [string, string][] {
  if (known)
    return [
      ['What', pieceWords(known)],
      ['Size', sizeWords(known)],
      ['Stands on', at ? floorName(at).toLowerCase() : 'no level'],
    ];
  if (waiting)
    return [
      ['What', [waiting.form, waiting.owner?.name].filter(Boolean).join(', ')],
      ['Size in this firing', sizeWords(waiting.asPacked)],
    ];
  return [];
}

/** The first legal places on one shelf, with their letters. */
function spotsOn(
  load: LoadNow,
  piece: number,
  places: Place[],
  floor: Floor,
  page: LoadPage,
): (Spot & { turned: boolean })[] {
  const size = bodyOf(load, piece, page);
  const now = page.pieces.find(({ number }) => number === piece);
  const isThere = (place: Place) =>
    now &&
    keyOf(now) === keyOf(place) &&
    Math.hypot(now.xMm - place.xMm, now.yMm - place.yMm) < 1 &&
    now.turned === place.turned;
  return places
    .filter((place) => keyOf(place) === keyOf(floor) && !isThere(place))
    .slice(0, LETTERS.length)
    .map((place, i) => ({
      letter: LETTERS[i] ?? '',
      part: place.part,
      xMm: place.xMm,
      yMm: place.yMm,
      turned: place.turned,
      hw: place.turned ? size.hd : size.hw,
      hd: place.turned ? size.hw : size.hd,
      r: size.r,
    }));
}

/** 'back left, turned': for who does not see the letters. */
function spotWords({ problem }: LoadNow, { xMm, yMm, turned }: Spot & { turned: boolean }): string {
  const { x0, x1, y0, y1 } = boxOf(problem.shelf);
  const third = (at: number, from: number, to: number) =>
    Math.max(0, Math.min(2, Math.floor((3 * (at - from)) / (to - from))));
  const depth = ['front', '', 'back'][third(yMm, y0, y1)];
  const side = ['left', '', 'right'][third(xMm, x0, x1)];
  const where = [depth, side].filter(Boolean).join(' ') || 'middle';
  return turned ? `${where}, turned` : where;
}

/** Half extents of a piece as it would stand, with its tray. */
function bodyOf({ problem }: LoadNow, piece: number, { notYetIn }: LoadPage) {
  const known = problem.pieces.find(({ id }) => id === String(piece));
  const waiting = notYetIn.find(({ number }) => number === piece);
  const asked = known ?? (waiting && { id: '', ...waiting.asPacked, tray: waiting.trayMm });
  const [ware] = asked ? waresOf([asked]) : [];
  return ware ?? { hw: 0, hd: 0, r: 0 };
}

function whyNone({ problem }: LoadNow, piece: number, floor: Floor, { notYetIn }: LoadPage): string {
  const heightMm =
    problem.pieces.find(({ id }) => id === String(piece))?.heightMm ??
    notYetIn.find(({ number }) => number === piece)?.asPacked.heightMm ??
    0;
  const air = floor.posts === null ? problem.topClearanceMm : problem.clearanceMm;
  const free = floor.roomMm - air;
  return heightMm > free
    ? `it is ${mm(heightMm)} high and there is room for ${mm(Math.max(0, free))}.`
    : 'it is full.';
}

function Wishes({ page: { load }, piece, level, reader }: Props & { level: number }) {
  const at = pieceAddress(load.number, piece);
  const fields = { piece, version: load.version };
  const pinned = load.wishes.pins[piece];
  return (
    <div class="acts">
      {pinned === undefined ? (
        <PlainAct
          post={`${at}/pin`}
          idempotencyKey={`${reader.key}-pin`}
          fields={{ ...fields, level }}
          label={`Pin to level ${level}`}
          small="packing again keeps it there"
        />
      ) : (
        <PlainAct
          post={`${at}/unpin`}
          idempotencyKey={`${reader.key}-unpin`}
          fields={fields}
          label={`Unpin from level ${pinned}`}
        />
      )}
      <PlainAct
        post={`${at}/take-out`}
        idempotencyKey={`${reader.key}-out`}
        fields={fields}
        label="Take it out"
        small="packing again may take it"
      />
      <PlainAct
        post={`${at}/leave-out`}
        idempotencyKey={`${reader.key}-leave`}
        fields={fields}
        label="Leave it out"
        small="packing again does without it"
      />
    </div>
  );
}
