import type { ComponentChildren } from 'preact';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { LogReader } from '../../server/safety/actions/log-reader.ts';
import { figureWords, KINDS, STANDING_WORDS, TOPIC_WORDS, TOPICS } from '../../server/safety/log.ts';
import type { Entry } from '../../server/safety/service/log-read.ts';
import { State } from '../ui/icons.tsx';
import { Facts, More } from '../ui/panel.tsx';

/** How an entry stands, as word and shape. */
export function EntryState({ entry }: { entry: Pick<Entry, 'standing' | 'isLate'> }) {
  const { state, owner, dueOn } = entry.standing;
  switch (state) {
    case 'noted':
      return <span class="soft">{STANDING_WORDS.noted}</span>;
    case 'open':
      return <State state="ask-technician" words="Open: nobody has taken it on" />;
    case 'to-do': {
      const by = `${owner ?? 'somebody'}${dueOn === null ? '' : ` by ${shownDay(dueOn)}`}`;
      return entry.isLate ? (
        <State state="too-thick" words={`Overdue: ${by}`} />
      ) : (
        <State state="on-test" words={`Followed up: ${by}`} />
      );
    }
    case 'closed':
      return <State state="ready" words={STANDING_WORDS.closed} />;
    case 'struck':
      return <State state="do-not-use" words={STANDING_WORDS.struck} />;
  }
}

/** 'Spill, entry 12' as a link to it. */
export const EntryLink = ({ entry }: { entry: Pick<Entry, 'number' | 'kind'> }) => (
  <a href={`/safety/log/${entry.number}`}>
    {KINDS[entry.kind].words}, entry <span class="num">{entry.number}</span>
  </a>
);

/** Place, bucket, material, kiln: whatever of it is known. */
export function EntryAbout({ entry }: { entry: Entry }) {
  const parts = [
    entry.place !== '' && entry.place,
    entry.bucket && (
      <>
        <a href={`/buckets/${entry.bucket.code}`}>{entry.bucket.name}</a>{' '}
        <span class="code">{entry.bucket.code}</span>
      </>
    ),
    entry.material && <a href={`/materials/${entry.material.id}`}>{entry.material.name}</a>,
    entry.kiln && <a href={`/kilns/${entry.kiln.code}`}>{entry.kiln.name}</a>,
  ].filter(Boolean);
  return (
    <>
      {parts.map((part, at) => (
        <>
          {at > 0 && ', '}
          {part}
        </>
      ))}
    </>
  );
}

/** All that an entry says, term by term. */
export function EntryFacts({ entry, reader }: { entry: Entry; reader: LogReader }) {
  const { topic } = entry.payload;
  const figures = figureWords(entry.payload);
  const facts: [string, ComponentChildren][] = [
    ['When', shownTime(entry.happenedAt, reader.now, reader.timeZone)],
    [
      'By',
      `${entry.by}${entry.byToken ? ', with a token' : ''}, written ${shownTime(entry.recordedAt, reader.now, reader.timeZone)}`,
    ],
  ];
  if (entry.place !== '' || entry.bucket || entry.material || entry.kiln)
    facts.splice(1, 0, ['Where', <EntryAbout key="where" entry={entry} />]);
  if (entry.duty) facts.push(['Duty', entry.duty.name]);
  if (topic) facts.push(['It was about', TOPIC_WORDS[topic].words]);
  if (figures) facts.push(['Figures', figures]);
  if (entry.what !== null) facts.push([KINDS[entry.kind].asks, <span class="written">{entry.what}</span>]);
  if (entry.action !== null) facts.push(['Done at once', <span class="written">{entry.action}</span>]);
  return <Facts items={facts} />;
}

/** What goes wrong most often, each with what to do about it. */
export function EverydayCautions() {
  return (
    <More summary="What hurts people in a studio, and what helps">
      <ul>
        {TOPICS.map((topic) => (
          <li key={topic}>
            <b>{TOPIC_WORDS[topic].words}.</b> {TOPIC_WORDS[topic].advice}
          </li>
        ))}
      </ul>
    </More>
  );
}

export const BackToSafety = () => <a href="/safety">Back to safety</a>;
