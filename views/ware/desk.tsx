import type { ComponentChildren } from 'preact';
import { DAY, type Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { formWord, formWords } from '../../server/ware/presets.ts';
import { reasonWords } from '../../server/ware/reasons.ts';
import type { Desk, Listed, Queue } from '../../server/ware/service/desk.ts';
import type { PieceNow } from '../../server/ware/service/now.ts';
import { daysWords, upper } from '../../server/ware/words.ts';
import { Field, Form } from '../ui/field.tsx';
import { Empty, More, Panel } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';

interface DeskProps {
  desk: Desk;
  find: FormState;
  now: Instant;
}

/** One page for a technician on a busy day: what is to be felt, decided, fetched, found. */
export function DeskPage({ desk, find, now }: DeskProps) {
  const { toFeel, drying, queues, yesAsked, flagged, returned, refire, fired, overdue, noName } = desk;
  return (
    <>
      <h1>Desk</h1>
      <Form action="/ware/desk/find" method="get" form={find}>
        <div class="find">
          <Field
            name="number"
            label="Find a piece by its number"
            inputMode="numeric"
            maxlength={12}
            autocomplete="off"
          />
          <button class="plain" type="submit">
            Find
          </button>
        </div>
      </Form>
      <div class="dues">
        <Panel title={`Dry rack: ${toFeel.count || 'none'} to feel`}>
          <Some
            pieces={toFeel}
            none={drying === 0 ? 'Nothing is drying.' : `${formWords('other', drying)} drying, none asked.`}
          >
            {({ waitingSince, stageSince }) => `asked ${daysAgo(waitingSince ?? stageSince, now)}`}
          </Some>
          {toFeel.count + drying > 0 && (
            <PlainAct href="/ware/desk/dry" label="Feel and confirm" small="Many at once" />
          )}
        </Panel>
        <Panel title={`Needs a technician's yes: ${yesAsked.count}`}>
          <Some pieces={yesAsked} none="No strange clay or glaze waits, and no coats that may run.">
            {openWords}
          </Some>
          {yesAsked.count > 0 && <PlainAct href="/ware/desk/yes" label="Say yes or give back" />}
        </Panel>
        <Panel title={`Not fetched: ${overdue.count}`}>
          <Some pieces={overdue} none={`Nothing fired has stood longer than ${desk.uncollectedDays} days.`}>
            {({ stageSince }) => `fired ${daysAgo(stageSince, now)}`}
          </Some>
          {fired > 0 && <p class="soft">{`${fired} more fired, not late yet.`}</p>}
          {overdue.count > 0 && <PlainAct href="/ware/desk/fetch" label="Put away as left behind" />}
        </Panel>
        <Panel title={`Shelf without names: ${noName.count}`}>
          <Some
            pieces={{ ...noName, first: noName.first.map(({ piece }) => piece) }}
            none="Every piece on the shelves has an owner."
          >
            {({ number }) => {
              const claims = noName.first.find(({ piece }) => piece.number === number)?.claims ?? [];
              return claims.length === 0
                ? 'nobody has claimed it'
                : `${claims.map(({ name }) => name).join(', ')}: “mine”`;
            }}
          </Some>
          {noName.count > 0 && <PlainAct href="/ware/desk/no-name" label="Photos and claims" />}
        </Panel>
        {flagged.count > 0 && (
          <Panel title={`Kept back: ${flagged.count}`}>
            <Some pieces={flagged}>{({ flag }) => flag ?? ''}</Some>
          </Panel>
        )}
        {returned.count > 0 && (
          <Panel title={`Returned: ${returned.count}`}>
            <Some pieces={returned}>
              {({ reason, stageSince }) =>
                `${reason === null ? 'Given back' : reasonWords(reason)}, ${daysAgo(stageSince, now)}`
              }
            </Some>
          </Panel>
        )}
        {refire.count > 0 && (
          <Panel title={`To be fired again: ${refire.count}`}>
            <Some pieces={refire}>
              {({ next, stageSince }) =>
                [next && firingWords(next), daysAgo(stageSince, now)].filter(Boolean).join(', ')
              }
            </Some>
          </Panel>
        )}
      </div>
      <h2>Waiting for a kiln</h2>
      {queues.length === 0 ? (
        <Empty title="Nothing waits">
          <p>A piece waits once its owner has handed it in and, before bisque, a technician has felt it.</p>
        </Empty>
      ) : (
        queues.map((queue) => <QueuePanel key={firingWords(queue.firing)} queue={queue} now={now} />)
      )}
      <h2>Around the ware</h2>
      <nav class="row" aria-label="Around the ware">
        {AROUND.map(({ href, label }) => (
          <a key={href} class="plain" href={href}>
            {label}
          </a>
        ))}
      </nav>
    </>
  );
}

const AROUND = [
  { href: '/clays', label: 'Clays' },
  { href: '/ware/glazes', label: 'Glazes in the kiln' },
  { href: '/ware/groups', label: 'Households and classes' },
  { href: '/ware/marks/all', label: 'Whose mark is it' },
  { href: '/ware/tags', label: 'Rack tags' },
  { href: '/ware/sheets', label: 'Sheets to print' },
  { href: '/ware/settings', label: 'How ware is handled' },
];

export const daysAgo = (at: Instant, now: Instant): string => {
  const days = Math.floor((now - at) / DAY);
  return days === 0 ? 'today' : `${daysWords(days)} ago`;
};

/** 'less than a day', '3 days' */
export const daysSince = (at: Instant, now: Instant): string => {
  const days = Math.floor((now - at) / DAY);
  return days === 0 ? 'less than a day' : daysWords(days);
};

/** What keeps a piece out, in words. */
export const openWords = ({ gates }: PieceNow): string =>
  gates
    .filter(({ ok }) => !ok)
    .map(({ words }) => words)
    .join(' ');

/** '128 cup', with a link to its page. */
export const PieceLink = ({ piece }: { piece: PieceNow }) => (
  <>
    <a href={`/ware/${piece.number}`}>
      <b>{piece.number}</b> {formWord(piece.form)}
    </a>
    {piece.owner ? `, ${piece.owner.name}` : ', no name'}
  </>
);

function Some({
  pieces,
  none,
  children,
}: {
  pieces: Listed;
  /** Said of an empty list. */
  none?: string;
  children: (piece: PieceNow) => ComponentChildren;
}) {
  if (pieces.count === 0) return <p class="soft">{none}</p>;
  return (
    <>
      <ul class="plain-list">
        {pieces.first.map((piece) => (
          <li key={piece.number}>
            <PieceLink piece={piece} />
            <br />
            <span class="soft">{children(piece)}</span>
          </li>
        ))}
      </ul>
      <AndMore list={pieces} />
    </>
  );
}

/** How many of a list are not shown. */
function AndMore({ list: { count, first } }: { list: Listed<unknown> }) {
  return count > first.length ? <p class="soft">and {count - first.length} more</p> : null;
}

function QueuePanel({ queue, now }: { queue: Queue; now: Instant }) {
  const { firing, ready, kept, oldest } = queue;
  return (
    <Panel title={upper(firingWords(firing))}>
      <p>
        <b>{ready.count} ready</b>, {kept.count} not yet. The longest has waited {daysSince(oldest, now)}.
      </p>
      {kept.count > 0 && (
        <More summary={`What keeps ${kept.count === 1 ? 'one piece' : `${kept.count} pieces`} out`}>
          <ul class="plain-list">
            {kept.first.map((piece) => (
              <li key={piece.number}>
                <PieceLink piece={piece} />
                <ul class="gate-list">
                  {piece.gates
                    .filter(({ ok }) => !ok)
                    .map(({ gate, words, who }) => (
                      <li key={gate}>
                        {words} <span class="soft">({who})</span>
                      </li>
                    ))}
                </ul>
              </li>
            ))}
          </ul>
          <AndMore list={kept} />
        </More>
      )}
      {ready.count > 0 && (
        <More summary="Which are ready">
          <p>
            {ready.first.map((piece, at) => (
              <>
                {at > 0 && ' · '}
                <a href={`/ware/${piece}`}>{piece}</a>
              </>
            ))}
          </p>
          <AndMore list={ready} />
        </More>
      )}
    </Panel>
  );
}
