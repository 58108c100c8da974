import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import type { GroupProspect, KilnProspect, LoadInList } from '../../server/kilns/service/index.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { Empty, Flash, More, Notice, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { loadAddress } from './load-parts.tsx';
import { LoadStateMark } from './load-state.tsx';
import { listed, percent, upper, waitedWords } from './load-words.ts';
import { pieceCount } from './plan-parts.tsx';

interface Props {
  /** What waits, for technicians. */
  groups: GroupProspect[];
  /** Proposed and under way. */
  live: LoadInList[];
  /** Done with, newest first; one more than is shown tells that there are older ones. */
  old: LoadInList[];
  older: number | null;
  /** The old ones do not begin with the newest. */
  isPaged: boolean;
  hasKiln: boolean;
  form: FormState;
  /** Loads that were just proposed. */
  made: number[];
  reader: LoadReader;
}

export function LoadsPage(props: Props) {
  const { groups, live, old, older, isPaged, hasKiln, form, made, reader } = props;
  return (
    <>
      {form.errors.length > 0 && (
        <Flash tone="refused" words={form.errors.map(({ message }) => message).join(' ')} />
      )}
      {form.errors.length === 0 && made.length > 0 && (
        <Flash words={`Proposed: load ${listed(made)}. Nothing is reserved until it is approved.`} />
      )}
      <h1>Loads</h1>
      {!hasKiln ? (
        <Empty title="No kiln yet">
          {reader.mayPlan ? (
            <>
              <p>Measure one with its shelves and posts; then what waits can be packed into it.</p>
              <a class="do" href="/kilns/new">
                Add the first kiln
              </a>
            </>
          ) : (
            <p>A technician adds the first one.</p>
          )}
        </Empty>
      ) : (
        <>
          <Panel title="Under way">
            {live.length === 0 ? (
              <p class="soft">No load is proposed, approved or firing.</p>
            ) : (
              <LoadTable loads={live} reader={reader} />
            )}
          </Panel>
          {reader.mayPlan && <Waiting {...props} />}
        </>
      )}
      {(old.length > 0 || isPaged) && (
        <Panel title="Earlier loads" id="earlier">
          {old.length === 0 ? (
            <p class="soft">No earlier ones.</p>
          ) : (
            <LoadTable loads={old} reader={reader} />
          )}
          <Pages
            newest={isPaged ? '/kilns/loads#earlier' : null}
            older={older === null ? null : `/kilns/loads?before=${older}#earlier`}
          />
        </Panel>
      )}
      {groups.length === 0 && reader.mayPlan && hasKiln && live.length + old.length === 0 && (
        <p>
          <a href="/ware/desk">The ware desk</a> shows what is drying and what is not ready yet.
        </p>
      )}
      <p>
        <a href="/kilns">The kilns</a>
      </p>
    </>
  );
}

function Waiting({ groups, reader }: Props) {
  if (groups.length === 0)
    return (
      <Empty title="Nothing waits to be fired">
        <p>Ware comes here once it is dry or glazed, and handed in.</p>
      </Empty>
    );
  return (
    <Panel title="What waits">
      <ul class="went-into">
        {groups.map((group) => (
          <Group key={firingWords(group.firing)} group={group} reader={reader} />
        ))}
      </ul>
    </Panel>
  );
}

function Group({ group, reader }: { group: GroupProspect; reader: LoadReader }) {
  const { firing, ready, notReady, oldest, wantedBy, kilns } = group;
  const able = kilns.filter(({ cannot }) => cannot.length === 0);
  const cannot = kilns.flatMap((kiln) => kiln.cannot);
  const asking = able.filter(({ reasons }) => reasons.length > 0);
  const others = able.filter(({ reasons }) => reasons.length === 0);
  const free = freeOf(group);
  return (
    <li>
      <h3>{upper(firingWords(firing))}</h3>
      <p>
        <b>{ready} ready</b>
        {notReady > 0 && `, ${notReady} not ready yet`}
        {oldest !== null && `. The oldest has waited ${waitedWords(oldest, reader.now)}`}
        {wantedBy !== null && `. The first is wanted by ${wantedBy}`}.
      </p>
      <Taken group={group} />
      {asking.map((kiln) => (
        <KilnLine key={kiln.kiln.code} group={group} kiln={kiln} reader={reader} />
      ))}
      {able.length === 0 && (
        <Notice title="No kiln can be fired so">
          <p>{cannot.join(' ')}</p>
        </Notice>
      )}
      {able.length > 0 && free > 0 && asking.length === 0 && (
        <p>{ready > free ? 'The rest gives no reason for another load yet.' : 'No reason to fire it yet.'}</p>
      )}
      {able.length > 0 && others.length + cannot.length > 0 && (
        <More summary={asking.length > 0 ? 'Other kilns' : 'The kilns'}>
          {others.map((kiln) => (
            <KilnLine key={kiln.kiln.code} group={group} kiln={kiln} reader={reader} />
          ))}
          {cannot.length > 0 && <p>{cannot.join(' ')}</p>}
        </More>
      )}
    </li>
  );
}

/** Ready pieces that are in no proposal. */
const freeOf = ({ ready, inProposals }: GroupProspect): number => ready - inProposals;

/** 'Of them 34 are in load 3, 10 in none.' */
function Taken({ group }: { group: GroupProspect }) {
  const { takenBy } = group;
  if (takenBy.length === 0) return null;
  const free = freeOf(group);
  return (
    <p>
      Of them{' '}
      {takenBy.map(({ load, pieces }, i) => (
        <>
          {i > 0 && ', '}
          {pieces} {i > 0 ? '' : pieces === 1 ? 'is ' : 'are '}in <a href={loadAddress(load)}>load {load}</a>
        </>
      ))}
      , {free === 0 ? 'none is left' : `${free} in none`}.
    </p>
  );
}

function KilnLine({
  group,
  kiln: { kiln, share, reasons, proposed },
  reader,
}: {
  group: GroupProspect;
  kiln: KilnProspect;
  reader: LoadReader;
}) {
  const { firing, inProposals } = group;
  const free = freeOf(group);
  return (
    <div class="prospect">
      <p>
        <b>{kiln.name}</b>:{' '}
        {free === 0
          ? `nothing ${inProposals > 0 ? 'is left' : 'is ready'}`
          : `${percent(share)} of what it usually takes`}
        . {reasons.map(({ words }) => words).join(' ')}
        {proposed.length > 0 && (
          <>
            {' '}
            Proposed:{' '}
            {proposed.map((number, i) => (
              <>
                {i > 0 && ', '}
                <a href={loadAddress(number)}>load {number}</a>
              </>
            ))}
            .
          </>
        )}
      </p>
      {free > 0 && (
        <PlainAct
          post="/kilns/loads"
          idempotencyKey={`${reader.key}-${kiln.code}-${firing.kind}-${firing.cone}-${firing.atmosphere}`}
          fields={{
            kiln: kiln.code,
            kind: firing.kind,
            cone: firing.cone,
            atmosphere: firing.atmosphere,
            // What another proposal takes would be in two, and approved in one only.
            ...(inProposals > 0 && { exceptProposed: 'yes' }),
          }}
          label={inProposals > 0 ? 'Propose another load' : 'Propose a load'}
          small={inProposals > 0 ? `of the ${free} that no proposal takes` : 'takes a few seconds'}
        />
      )}
    </div>
  );
}

function LoadTable({ loads, reader }: { loads: LoadInList[]; reader: LoadReader }) {
  return (
    <Table
      columns={[
        { label: 'Load', main: true },
        { label: 'State' },
        { label: 'Firing' },
        { label: 'Kiln', wraps: true },
        { label: 'In it' },
        { label: 'When' },
      ]}
      rows={loads.map((load) => ({
        key: load.number,
        cells: [
          <a href={loadAddress(load.number)}>Load {load.number}</a>,
          <LoadStateMark state={load.state} />,
          firingWords(load.firing),
          load.kiln.name,
          pieceCount(load.pieceCount),
          whenWords(load, reader),
        ],
      }))}
    />
  );
}

function whenWords(load: LoadInList, { now, timeZone }: LoadReader): string {
  const at = (instant: number) => shownTime(instant, now, timeZone);
  if (load.cancelledAt !== null) return `cancelled ${at(load.cancelledAt)}`;
  if (load.unloadedAt !== null) return `unloaded ${at(load.unloadedAt)}`;
  if (load.startedAt !== null) return `started ${at(load.startedAt)}`;
  if (load.startsAt !== null) return `fires ${at(load.startsAt)}`;
  return `proposed ${at(load.proposedAt)}`;
}
