import { mass } from '../../server/core/units.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { Reader } from '../../server/ware/actions/reader.ts';
import { type Firing, firingWords } from '../../server/ware/firing.ts';
import type { Gate } from '../../server/ware/gates.ts';
import { nextAct } from '../../server/ware/mine.ts';
import { faultWords } from '../../server/ware/outcome.ts';
import { formWord } from '../../server/ware/presets.ts';
import { sizeWords, whereWords } from '../../server/ware/sentences.ts';
import type { PieceFees } from '../../server/ware/service/fee-gate.ts';
import type { MovePath, PieceGlaze, PieceNow } from '../../server/ware/service/index.ts';
import { upper } from '../../server/ware/words.ts';
import { Facts, Flash, type FlashProps, More, Notice, Panel } from '../ui/panel.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { CoatLine, WAIT_LABEL } from './bench-parts.tsx';
import { FeeSteps } from './register.tsx';
import { Holds, PieceHeading, StandingShape, standingTone, standingWords } from './shapes.tsx';

/** One thing that was done to a piece, in words. */
export interface Told {
  number: number;
  at: number;
  by: string;
  words: string;
  note: string | null;
  photo: string | null;
}

/** Something else that whoever asks may do with it. */
export interface Offer {
  path: MovePath | 'edit' | 'glazing';
  label: string;
  isTap: boolean;
}

interface PieceProps {
  piece: PieceNow;
  /** Others of its batch that are at the same point. */
  others: number[];
  /** What the kilns say of its load. */
  load: string | undefined;
  /** Whether it may touch food; '' without glaze. */
  food: string;
  /** At the glazing bench: how wet its wall is, and when it is dry; '' where it is not there. */
  wall: string;
  /** It is too wet for its next coat. */
  asksWait: boolean;
  /** How its bisque drinks otherwise than it should. */
  bisque: string | null;
  /** What its firings cost; null where nothing is charged. */
  fees: PieceFees | null;
  /** What somebody wrote when it came to where it is. */
  said: string | null;
  history: Told[];
  own: Offer[];
  technicians: Offer[];
  flash: FlashProps | null;
  reader: Reader;
}

/** Everything about one piece: where it is by size of words, what to do next, what keeps it, what was done. */
export function PiecePage(props: PieceProps) {
  const {
    piece,
    others,
    load,
    food,
    wall,
    asksWait,
    bisque,
    fees,
    said,
    history,
    own,
    technicians,
    flash,
    reader,
  } = props;
  const since = shownTime(piece.stageSince, reader.now, reader.timeZone);
  const act = nextAct(piece);
  const fault = faultWords(piece.outcome);
  return (
    <>
      {flash && <Flash {...flash} />}
      <PieceHeading piece={piece} />
      <section class={`verdict ${standingTone(piece)}`} data-announce={standingWords(piece)}>
        <StandingShape piece={piece} />
        <h2>{standingWords(piece)}</h2>
        <p class="verdict-why">{`${whereWords(piece, load, since)}.`}</p>
        {wall !== '' && <p class="verdict-why">{wall}</p>}
        {said !== null && (
          <p class="verdict-why">
            <q>{said}</q>
          </p>
        )}
        {fault !== null && piece.stage !== 'fired' && (
          <p class="verdict-why">Out of its last firing: {fault.toLowerCase()}.</p>
        )}
      </section>
      {act && (
        <NextAct
          piece={piece}
          act={asksWait && act.path === 'glazing' ? { ...act, label: WAIT_LABEL } : act}
          others={others}
          reader={reader}
        />
      )}
      {bisque !== null && (
        <Notice title="Its bisque drinks otherwise" tone="too-thin">
          <p>{bisque}</p>
        </Notice>
      )}
      {piece.gates.length > 0 && piece.next && <Gates gates={piece.gates} next={piece.next} />}
      <div class="split">
        <Panel title="What it is">
          <PieceFacts piece={piece} food={food} reader={reader} />
        </Panel>
        <div>
          {piece.photo && (
            <figure class="tile">
              <a href={`/files/${piece.photo}`} hx-boost="false">
                <img src={`/files/${piece.photo}`} alt={`${upper(formWord(piece.form))} ${piece.number}`} />
              </a>
            </figure>
          )}
          {fees && (
            <Panel title="What firing it costs">
              <p>{fees.line}.</p>
              <FeeSteps fees={fees} />
            </Panel>
          )}
          {own.length > 0 && (
            <Panel title="Do something else">
              <Offers offers={own} piece={piece} reader={reader} />
            </Panel>
          )}
          {technicians.length > 0 && (
            <Panel title="For technicians">
              <Offers offers={technicians} piece={piece} reader={reader} />
            </Panel>
          )}
        </div>
      </div>
      <History history={history} reader={reader} />
      <p>
        <a href="/ware">Back to my ware</a>
      </p>
    </>
  );
}

function NextAct({
  piece,
  act,
  others,
  reader,
}: Pick<PieceProps, 'piece' | 'others' | 'reader'> & { act: NonNullable<ReturnType<typeof nextAct>> }) {
  const at = `/ware/${piece.number}/${act.path}`;
  if (!act.isTap) return <Act href={at} label={act.label} />;
  const key = `${reader.key}-${act.path}`;
  return (
    <>
      <Act post={at} idempotencyKey={key} label={act.label} />
      {others.length > 0 && (
        <PlainAct
          post={at}
          idempotencyKey={`${key}-all`}
          fields={{ also: others.join(',') }}
          label={`${act.label}: all ${others.length + 1} of this batch`}
        />
      )}
    </>
  );
}

function Gates({ gates, next }: { gates: Gate[]; next: Firing }) {
  return (
    <Panel title={`Before its next firing: ${firingWords(next)}`}>
      <ul class="gates">
        {gates.map(({ gate, ok, words, who }) => (
          <li key={`${gate} ${words}`} class={ok ? 'holds' : undefined}>
            <Holds ok={ok} />
            <span>
              {words}
              {!ok && <small>{who === 'owner' ? 'Its owner does this.' : 'A technician does this.'}</small>}
            </span>
          </li>
        ))}
      </ul>
    </Panel>
  );
}

function PieceFacts({ piece, food, reader }: Pick<PieceProps, 'piece' | 'food' | 'reader'>) {
  const { measured, asPacked, clay, owner, payer, glazes } = piece;
  const when = { wet: 'measured wet', dry: 'measured dry', bisque: 'measured bisqued' }[measured.when];
  const items: Parameters<typeof Facts>[0]['items'] = [
    ['Whose', owner?.name ?? 'Nobody knows yet'],
    ...(payer && (payer.id !== owner?.id || payer.kind !== owner.kind)
      ? [['Who pays', payer.name] as [string, string]]
      : []),
    [
      'Clay',
      clay ? `${clay.name}, up to cone ${clay.maxCone}` : `${piece.ownClay ?? 'Not said'} (not on the list)`,
    ],
    ['Wanted', `${upper(firingWords(piece.final))}${piece.isOnce ? ', fired once' : ''}`],
    ['Size', `${sizeWords(measured)}, ${when}${measured.byTechnician ? ' by a technician' : ''}`],
    ['In the kiln', `${sizeWords(asPacked)}${packedWords(piece)}`],
    ['Thickest part', `${piece.thickestMm} mm`],
  ];
  if (piece.kg !== null) items.push(['Weight', mass(piece.kg, reader.units)]);
  if (piece.trayMm > 0) items.push(['Tray', `${piece.trayMm} mm all round`]);
  if (glazes.length > 0) items.push(['Glazes', <GlazeList glazes={glazes} />]);
  if (food) items.push(['Food', food]);
  if (piece.wantedBy !== null) items.push(['Wanted by', piece.wantedBy]);
  if (piece.mark) items.push(['Mark', piece.mark]);
  if (piece.place) items.push(['Stands', piece.place]);
  if (piece.note) items.push(['Note', piece.note]);
  items.push([
    'Registered',
    `${shownTime(piece.registeredAt, reader.now, reader.timeZone)} by ${piece.registeredBy.name}`,
  ]);
  return <Facts items={items} />;
}

/** Where the size in the kiln comes from, when nobody measured it as it stands there. */
function packedWords({ measured, clay }: PieceNow): string {
  if (!clay) return ', as measured: how its clay shrinks is not known';
  return measured.when === 'wet' ? ', estimated from its wet size' : '';
}

const GlazeList = ({ glazes }: { glazes: PieceGlaze[] }) => (
  <ol class="glaze-list">
    {glazes.map((glaze) => (
      <li key={glaze.position}>
        <CoatLine glaze={glaze} />
      </li>
    ))}
  </ol>
);

function Offers({ offers, piece, reader }: { offers: Offer[]; piece: PieceNow; reader: Reader }) {
  return (
    <div class="row">
      {offers.map(({ path, label, isTap }) =>
        isTap ? (
          <PlainAct
            key={path}
            post={`/ware/${piece.number}/${path}`}
            idempotencyKey={`${reader.key}-${path}-one`}
            label={label}
          />
        ) : (
          <PlainAct key={path} href={`/ware/${piece.number}/${path}`} label={label} />
        ),
      )}
    </div>
  );
}

function History({ history, reader }: { history: Told[]; reader: Reader }) {
  return (
    <More summary={`What was done with it (${history.length})`} open={history.length < 8}>
      <ol class="told">
        {history.map(({ number, at, by, words, note, photo }) => (
          <li key={number}>
            <span class="soft">
              {shownTime(at, reader.now, reader.timeZone)}, {by}
            </span>
            <span>{words}</span>
            {note && <q>{note}</q>}
            {photo && (
              <a href={`/files/${photo}`} hx-boost="false">
                <img class="thumb" src={`/files/${photo}`} alt={`Photo: ${words}`} loading="lazy" />
              </a>
            )}
          </li>
        ))}
      </ol>
    </More>
  );
}
