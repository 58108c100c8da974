import type { VNode } from 'preact';
import { gravityFigure } from '../../server/buckets/sentences.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { ContainerReader } from '../../server/safety/actions/container-reader.ts';
import { CONTAINER_KINDS, containerDoubtWords, containerWords } from '../../server/safety/container-words.ts';
import type { ContainerLedgerRow, ContainerNow } from '../../server/safety/service/containers.ts';
import { Facts, Flash, Notice, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { ContentsTable, containerAt, HowFull, InItHazards } from './container-parts.tsx';
import { ACT_WORDS, actsAt } from './container-record.tsx';
import { Caution } from './parts.tsx';

interface Props {
  container: ContainerNow;
  events: (ContainerLedgerRow & { mayStrikeOut: boolean })[];
  next: number | null;
  refused: string | null;
  done: string | null;
  reader: ContainerReader;
}

/** One container: how full, what is in it, what may be done with it, and its ledger. */
export function ContainerPage({ container, events, next, refused, done, reader }: Props) {
  const at = containerAt(container);
  const { facts } = container;
  const [first, ...others] = actsAt(container, reader);
  return (
    <>
      {done && <Flash words={done} />}
      {refused && <Flash words={refused} tone="refused" />}
      <h1>
        {container.name} <span class="code">{container.code}</span>
      </h1>
      {container.retired && <p>Out of use.</p>}
      <p class="lead-fill">
        <HowFull container={container} reader={reader} />
      </p>
      {!container.retired && first && (
        <>
          <Act href={`${at}/record?kind=${first}`} label={ACT_WORDS[first]} />
          <div class="row">
            {others.map((act) => (
              <PlainAct key={act} href={`${at}/record?kind=${act}`} label={ACT_WORDS[act]} />
            ))}
          </div>
        </>
      )}
      {facts.doubts.length > 0 && (
        <Notice title="The books do not add up" tone="ask-technician">
          <ul>
            {facts.doubts.map((doubt) => (
              <li key={`${doubt.number} ${doubt.what}`}>{containerDoubtWords(doubt)}</li>
            ))}
          </ul>
          <p>Look how full it is and record the level.</p>
        </Notice>
      )}
      <div class="split">
        <div>
          <Panel title="What is in it">
            {facts.portions.length === 0 ? (
              <p>Nothing by its ledger.</p>
            ) : (
              <>
                <p>Reckoned from the recipes and what was measured.</p>
                <ContentsTable contents={container.contents} reader={reader} />
                <InItHazards container={container} />
              </>
            )}
          </Panel>
        </div>
        <div>
          <Panel title="What it is">
            <Facts items={factsOf(container, reader)} />
          </Panel>
          {reader.technician && (
            <Panel title="Look after it">
              <div class="row">
                <PlainAct href={`${at}/edit`} label="Edit" />
                {reader.mayPermitDrain && <PlainAct href={`${at}/permission`} label="Drain permission" />}
                <PlainAct
                  post={`${at}/retire`}
                  idempotencyKey={`${reader.key}-retire`}
                  fields={{ to: container.retired ? 'use' : 'out' }}
                  label={container.retired ? 'Put back in use' : 'Take out of use'}
                />
              </div>
            </Panel>
          )}
        </div>
      </div>
      <Panel title="What went in and out">
        {events.length === 0 ? (
          <p>Nothing yet.</p>
        ) : (
          <ContainerLedger at={at} events={events} next={next} reader={reader} />
        )}
      </Panel>
      <p>
        <a href="/containers">Back to rinse and waste</a>
      </p>
      <Caution />
    </>
  );
}

function factsOf(container: ContainerNow, reader: ContainerReader): Parameters<typeof Facts>[0]['items'] {
  const { kind, place, parent, permission, facts } = container;
  return [
    ['Kind', CONTAINER_KINDS[kind]],
    ...(parent
      ? ([
          [
            'Its glaze',
            <a key="parent" href={`/buckets/${parent.code}`}>{`${parent.name} ${parent.code}`}</a>,
          ],
        ] as [string, VNode][])
      : []),
    ...(place ? ([['Stands', place]] as [string, string][]) : []),
    ['SG', sgWords(container)],
    ...(facts.waitingSince !== null && kind === 'rinse'
      ? ([['Waiting', `since ${shownTime(facts.waitingSince, reader.now, reader.timeZone)}`]] as [
          string,
          string,
        ][])
      : []),
    [
      'Down a drain',
      permission?.inForce
        ? `allowed until ${shownDay(permission.validTo)}: ${permission.authority} (recorded by ${permission.by})`
        : permission
          ? `the permission ended on ${shownDay(permission.validTo)}`
          : 'no permission is recorded',
    ],
  ];
}

function sgWords({ facts: { litres, portions }, specificGravity }: ContainerNow): string {
  if (portions.length === 0) return 'empty';
  if (specificGravity !== null) return `${gravityFigure(specificGravity)}, reckoned`;
  return litres > 0 ? 'not known: not everything in it was checked' : 'none: it has dried out';
}

interface LedgerProps {
  at: string;
  events: Props['events'];
  next: number | null;
  reader: ContainerReader;
}

function ContainerLedger({ at, events, next, reader }: LedgerProps) {
  return (
    <>
      <Table
        columns={[
          { label: 'What', main: true, wraps: true },
          { label: 'When' },
          { label: 'By', wraps: true },
          { label: 'Wrong?' },
        ]}
        rows={events.map((event) => ({
          key: event.number,
          struck: event.voided,
          cells: [
            <>
              {containerWords(event, reader.units)}
              {event.note !== null && `: ${event.note}`}
              {event.entry.kind === 'disposal' && (
                <>
                  {' '}
                  <a href={`/safety/log/${event.entry.logEntry}`}>
                    Entry {event.entry.logEntry} of the safety log
                  </a>
                </>
              )}
            </>,
            shownTime(event.happenedAt, reader.now, reader.timeZone),
            event.by,
            event.mayStrikeOut ? (
              <a class="plain num" href={`${at}/events/${event.number}/void`}>
                Strike out<span class="hidden-text"> row {event.number}</span>
              </a>
            ) : (
              ''
            ),
          ],
        }))}
      />
      <Pages newest={null} older={next === null ? null : `${at}?before=${next}`} olderWords="Older rows" />
    </>
  );
}
