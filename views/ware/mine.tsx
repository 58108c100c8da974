import type { Instant } from '../../server/core/clock.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { Reader } from '../../server/ware/actions/reader.ts';
import { type Bunch, fetchWords, nextAct, type SectionName } from '../../server/ware/mine.ts';
import { faultWords } from '../../server/ware/outcome.ts';
import { formWords, piecesWords } from '../../server/ware/presets.ts';
import { whereWords } from '../../server/ware/sentences.ts';
import type { PieceNow } from '../../server/ware/service/index.ts';
import type { WareSettings } from '../../server/ware/settings.ts';
import { Empty, Flash, type FlashProps, More, Pages } from '../ui/panel.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { WAIT_LABEL } from './bench-parts.tsx';
import { FormOutline, StandingShape, standingTone, standingWords } from './shapes.tsx';

interface Message {
  id: number;
  at: Instant;
  words: string;
  href: string;
}

interface MyWareProps {
  sections: Record<SectionName, Bunch<PieceNow>[]>;
  /** Where loads are, by number. */
  loads: Map<number, string>;
  /** Numbers of what is too wet for its next coat. */
  tooWet: ReadonlySet<number>;
  settings: Pick<WareSettings, 'uncollectedDays'>;
  unread: Message[];
  flash: FlashProps | null;
  /** There is more that went long ago. */
  older: number | null;
  reader: Reader;
}

/** The rest opens: what is ready stays in sight on a phone. */
const SHOWN_NEWS = 3;

const HEADINGS: Record<Exclude<SectionName, 'gone'>, string> = {
  ready: 'Ready to pick up',
  'needs-you': 'Needs you',
  'on-its-way': 'On its way',
};

/** A member's own ware: what is ready, what needs them, and where everything else is. */
export function MyWarePage({ sections, loads, tooWet, settings, unread, flash, older, reader }: MyWareProps) {
  const isEmpty = Object.values(sections).every((bunches) => bunches.length === 0);
  const card = (bunch: Bunch<PieceNow>) => (
    <li key={bunch[0].number}>
      <BunchCard
        bunch={bunch}
        loads={loads}
        isWet={bunch.some(({ number }) => tooWet.has(number))}
        settings={settings}
        reader={reader}
      />
    </li>
  );
  return (
    <>
      {flash && <Flash {...flash} />}
      <h1>My ware</h1>
      {unread.length > 0 && <Messages unread={unread} reader={reader} />}
      {isEmpty ? (
        <FirstPiece />
      ) : (
        <>
          <Act href="/ware/new" label="Register pieces" small="One, or a batch of the same" />
          {(['ready', 'needs-you', 'on-its-way'] as const).map(
            (name) =>
              sections[name].length > 0 && (
                <section key={name}>
                  <h2>{HEADINGS[name]}</h2>
                  <ul class="dues">{sections[name].map(card)}</ul>
                </section>
              ),
          )}
          {sections.gone.length > 0 && (
            <More summary="Gone: picked up or lost">
              <ul class="dues">{sections.gone.map(card)}</ul>
            </More>
          )}
          <Pages
            newest={null}
            older={older === null ? null : `/ware?before=${older}`}
            olderWords="Older pieces"
          />
        </>
      )}
      <nav class="row" aria-label="Around your ware">
        <a class="plain" href="/bench">
          Dry racks
        </a>
        <a class="plain" href="/ware/found">
          Shelf without names
        </a>
        <a class="plain" href="/ware/marks">
          Your marks
        </a>
        <a class="plain" href="/ware/groups">
          Households and classes
        </a>
        <a class="plain" href="/clays">
          Clays and glazes
        </a>
        <a class="plain" href="/ware/sheets">
          Sheets to print
        </a>
        {reader.technician && (
          <a class="plain" href="/ware/desk">
            Everybody's ware
          </a>
        )}
      </nav>
    </>
  );
}

const FirstPiece = () => (
  <Empty title="No piece of yours yet">
    <p>
      Register what you made and it gets a number. From then on you see here where it is, what it waits for
      and when it is ready.
    </p>
    <Act href="/ware/new" label="Register your first piece" />
  </Empty>
);

function Messages({ unread, reader }: { unread: Message[]; reader: Reader }) {
  const line = ({ id, at, words, href }: Message) => (
    <li key={id}>
      <a href={href}>{words}</a>
      <span class="soft">{shownTime(at, reader.now, reader.timeZone)}</span>
    </li>
  );
  const rest = unread.slice(SHOWN_NEWS);
  return (
    <section class="panel" aria-labelledby="news">
      <h2 id="news">New for you</h2>
      <ul class="news">{unread.slice(0, SHOWN_NEWS).map(line)}</ul>
      {rest.length > 0 && (
        <More summary={`${rest.length} more`}>
          <ul class="news">{rest.map(line)}</ul>
        </More>
      )}
      <PlainAct post="/ware/messages" idempotencyKey={`${reader.key}-read`} label="I have read them" />
    </section>
  );
}

function BunchCard({
  bunch,
  loads,
  isWet,
  settings,
  reader,
}: {
  bunch: Bunch<PieceNow>;
  loads: Map<number, string>;
  /** Too wet for the next coat. */
  isWet: boolean;
  settings: MyWareProps['settings'];
  reader: Reader;
}) {
  const [first] = bunch;
  const numbers = bunch.map(({ number }) => number);
  const act = nextAct(first);
  const fault = faultWords(first.outcome);
  // The foot is wiped once the last coat is on.
  const isGlazing = act?.path === 'glazing';
  const open = first.gates.filter(({ ok, gate }) => !ok && !(isGlazing && gate === 'foot'));
  const next = open.find(({ who }) => who === 'owner') ?? open[0];
  const load = first.load === null ? undefined : loads.get(first.load);
  const since = shownTime(first.stageSince, reader.now, reader.timeZone);
  const fetch = fetchWords(first, settings, reader.now);
  return (
    <article class={`ware-card ${standingTone(first)}`}>
      <p class="lid-state">
        <StandingShape piece={first} />
        {standingWords(first)}
      </p>
      <h3 class="ware-name">
        {first.photo ? (
          <img class="thumb" src={`/files/${first.photo}`} alt="" loading="lazy" />
        ) : (
          <FormOutline form={first.form} />
        )}
        <span>
          {formWords(first.form, bunch.length)}
          <small>
            {first.owner?.kind === 'group' ? `${first.owner.name} · ` : ''}
            {piecesWords(numbers)}
          </small>
        </span>
      </h3>
      {fetch !== null && (
        <p>
          <strong>{fetch}</strong>
        </p>
      )}
      <p>{`${whereWords(first, load, since)}.`}</p>
      {fault !== null && first.stage !== 'fired' && <p>Out of its last firing: {fault.toLowerCase()}.</p>}
      {first.flag !== null && <p>Kept back: {first.flag}</p>}
      {isGlazing && isWet && <p>Its last coat is still wet: wait.</p>}
      {first.flag === null && next && <p class="soft">{next.words}</p>}
      <ul class="numbers">
        {numbers.map((number) => (
          <li key={number}>
            <a class="number" href={`/ware/${number}`}>
              <span class="hidden-text">Piece </span>
              {number}
            </a>
          </li>
        ))}
      </ul>
      {act &&
        (act.isTap ? (
          <PlainAct
            post={`/ware/${first.number}/${act.path}`}
            idempotencyKey={`${reader.key}-${act.path}-${first.number}`}
            fields={{ also: numbers.slice(1).join(','), from: 'mine' }}
            label={act.label}
            small={bunch.length > 1 ? `All ${bunch.length}` : undefined}
          />
        ) : (
          <PlainAct
            href={`/ware/${first.number}/${act.path}`}
            label={isGlazing && isWet ? WAIT_LABEL : act.label}
          />
        ))}
    </article>
  );
}
