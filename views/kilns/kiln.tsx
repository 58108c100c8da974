import { shownTime } from '../../server/core/wall-time.ts';
import type { KilnReader } from '../../server/kilns/actions/kiln-reader.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import type {
  CareEntry,
  KilnNow,
  KilnOnBoard,
  LoadInBrief,
  WEARING_PARTS,
} from '../../server/kilns/service/index.ts';
import type { KilnNotice } from '../../server/kilns/service/safety-gate.ts';
import type { KilnSettings } from '../../server/kilns/settings.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { Facts, Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { KilnCard } from './board.tsx';
import { CareList, OhmsTable } from './care.tsx';
import { KilnDrawing, postWords } from './kiln-drawing.tsx';
import { CareCaution, plural, ServiceState, shelfWords } from './kiln-parts.tsx';
import { HeatCaution, loadAddress } from './load-parts.tsx';
import { LoadStateMark } from './load-state.tsx';

interface Props {
  kiln: KilnNow;
  care: { entries: CareEntry[]; next: number | null };
  ohms: CareEntry[];
  loads: LoadInBrief[];
  notices: KilnNotice[];
  settings: KilnSettings;
  /** What it is now; null for one that is on no board any more. */
  board: KilnOnBoard | null;
  reader: KilnReader & LoadReader;
  done: string | null;
}

/** One kiln: what it is, who may fire it, what was done to it and what was fired in it. */
export function KilnPage({ kiln, care, ohms, loads, notices, settings, board, reader, done }: Props) {
  const at = `/kilns/${kiln.code}`;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>
        {kiln.name} <span class="code">{kiln.code}</span>
      </h1>
      {board ? (
        <>
          <KilnCard one={board} isOwnPage reader={reader} />
          <HeatCaution load={board.load} />
        </>
      ) : (
        <p class="kiln-state">
          <ServiceState kiln={kiln} />
          {kiln.serviceCause && <span>{kiln.serviceCause}</span>}
        </p>
      )}
      {kiln.emergency && (
        <Notice title="In an emergency" tone="do-not-use">
          <p class="lines-kept">{kiln.emergency}</p>
        </Notice>
      )}
      {notices.map(({ number, title, words, unread }) => (
        <Notice key={number} title={title}>
          {words !== '' && <p>{words}</p>}
          <p>
            <a href={`/notices/${number}`}>{unread ? 'Read it, and say so' : 'The notice'}</a>
          </p>
        </Notice>
      ))}
      {reader.mayEdit && (
        <p class="row">
          <PlainAct href={`${at}/care`} label="Note care" />
          <PlainAct href={`${at}/edit`} label="Edit" />
          <PlainAct href={`/notices/new?kiln=${kiln.code}`} label="Notice" />
        </p>
      )}
      <p>
        <a href={`/safety/log/new?kiln=${kiln.code}`}>Something happened here? Log it for safety</a>
      </p>
      <div class="split">
        <div>
          <Panel title="Inside, to scale">
            <KilnDrawing kiln={kiln} id="kiln" />
          </Panel>
          <Panel title="Care">
            <CareCaution handsBelowC={settings.handsBelowC} />
            <Facts items={PARTS.map(([part, words]) => [words, firingsWords(kiln.firingsSince[part])])} />
            <OhmsTable entries={ohms} reader={reader} />
            {care.entries.length > 0 && (
              <>
                <h3>What was done</h3>
                <CareList kiln={kiln} care={care} reader={reader} />
              </>
            )}
          </Panel>
        </div>
        <div>
          <Panel title="Who may fire it">
            {kiln.firers.length === 0 ? (
              <p>Nobody yet. A technician names them on its form.</p>
            ) : (
              <p>{kiln.firers.map(({ name }) => name).join(', ')}</p>
            )}
            {kiln.mayFire && <p>You may.</p>}
          </Panel>
          <Panel title="What it is">
            <KilnFacts kiln={kiln} />
          </Panel>
          <Panel title="Loads">
            <NewestLoads loads={loads} reader={reader} />
          </Panel>
          {reader.mayEdit && <Retire kiln={kiln} reader={reader} />}
        </div>
      </div>
      <p>
        <a href="/kilns">Back to the kilns</a>
      </p>
    </>
  );
}

const PARTS: [(typeof WEARING_PARTS)[number], string][] = [
  ['elements', 'Elements'],
  ['relays', 'Relays'],
  ['thermocouple', 'Thermocouple'],
];

const firingsWords = (count: number | null): string =>
  count === null ? 'no change was noted' : `${plural(count, 'firing')} since changed`;

function KilnFacts({ kiln }: { kiln: KilnNow }) {
  const shelves = [
    `${kiln.fullShelves} full`,
    kiln.halfShelves > 0 && `${kiln.halfShelves} half`,
    `${kiln.shelfThicknessMm} mm thick`,
  ].filter(Boolean);
  const power =
    kiln.power === 'gas'
      ? 'Gas'
      : [
          'Electric',
          kiln.kilowatts !== null && `${kiln.kilowatts} kW`,
          kiln.volts !== null && `${kiln.volts} V`,
          kiln.duty !== null && `on for ${Math.round(100 * kiln.duty)} % of a firing`,
        ]
          .filter(Boolean)
          .join(', ');
  return (
    <Facts
      items={[
        ['Loaded', `from the ${kiln.opens}, controls at the ${kiln.controls}`],
        ['Fires up to', `cone ${kiln.maxCone}, ${kiln.atmospheres.join(' or ')}`],
        ['Power', power],
        ['Shelf', shelfWords(kiln.shelf)],
        ['Shelves', shelves.join(', ')],
        ['Usable height', `${kiln.usableHeightMm} mm above the floor`],
        ['Floor posts', kiln.floorPostMm > 0 ? `${kiln.floorPostMm} mm` : 'none'],
        ['Posts', postWords(kiln.posts)],
        [
          'Under one shelf',
          `${plural(kiln.postsPerShelf, 'post')}${kiln.stackedPosts ? ', two may be stacked' : ''}`,
        ],
        ['Air above ware', `${kiln.clearanceMm} mm under a shelf, ${kiln.topClearanceMm} mm under the lid`],
      ]}
    />
  );
}

function NewestLoads({ loads, reader }: Pick<Props, 'loads' | 'reader'>) {
  if (loads.length === 0) return <p class="soft">Nothing was fired in it yet.</p>;
  return (
    <Table
      columns={[{ label: 'Load', main: true }, { label: 'State' }, { label: 'When' }]}
      rows={loads.map((load) => ({
        key: load.number,
        cells: [
          <>
            <a href={loadAddress(load.number)}>Load {load.number}</a>, {firingWords(load)}
          </>,
          <LoadStateMark state={load.state} />,
          loadTime(load, reader),
        ],
      }))}
    />
  );
}

function loadTime(load: LoadInBrief, { now, timeZone }: Pick<KilnReader, 'now' | 'timeZone'>): string {
  const at = load.unloadedAt ?? load.startedAt;
  if (at !== null) return shownTime(at, now, timeZone);
  return load.startsAt === null
    ? `proposed ${shownTime(load.proposedAt, now, timeZone)}`
    : `planned ${shownTime(load.startsAt, now, timeZone)}`;
}

function Retire({ kiln, reader }: { kiln: KilnNow; reader: KilnReader }) {
  const post = `/kilns/${kiln.code}/retire`;
  return kiln.retiredAt === null ? (
    <More summary="Retire this kiln">
      <p>It leaves the board and the lists. Its loads and its care log stay.</p>
      <PlainAct post={post} idempotencyKey={reader.key} fields={{ what: 'retire' }} label="Retire it" />
    </More>
  ) : (
    <PlainAct post={post} idempotencyKey={reader.key} fields={{ what: 'return' }} label="Bring it back" />
  );
}
