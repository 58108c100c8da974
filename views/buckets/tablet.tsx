import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { Entry } from '../../server/buckets/kinds.ts';
import { nextAct } from '../../server/buckets/next-act.ts';
import { cardWords, flashWords } from '../../server/buckets/sentences.ts';
import type { BucketNow, BucketPage, LedgerEvent } from '../../server/buckets/service/index.ts';
import type { BucketSafety } from '../../server/buckets/service/safety-gate.ts';
import { STATE_WORDS } from '../../server/buckets/verdict.ts';
import type { AtTablet } from '../../server/members/service/tablet.ts';
import { Plate, Wall } from '../ui/card.tsx';
import { Gauge } from '../ui/gauge.tsx';
import { liveRegion } from '../ui/live.ts';
import { Empty, Flash, Notice, Panel } from '../ui/panel.tsx';
import { PlainAct, VerdictPanel } from '../ui/verdict.tsx';
import { NoticesAtTablet } from './bucket-notices.tsx';
import { BucketTrend } from './bucket-trend.tsx';
import { LedgerTable } from './ledger.tsx';
import { firingWords, fullWords, Housekeeping } from './parts.tsx';
import { SurpriseGlaze } from './rinse.tsx';
import { card, gaugeOf, nextTurn } from './wall.tsx';

interface TabletCardsProps {
  groups: { place: string | null; buckets: BucketNow[] }[];
  count: string;
  /** Whose card was scanned: the next act is theirs. */
  person: AtTablet | null;
  reader: Reader;
}

interface TabletWallPageProps extends TabletCardsProps {
  /** What was recorded here a moment ago. */
  done: { bucket: BucketNow; event: LedgerEvent; struck: Entry | undefined } | null;
  /** The tablet's name, where it was just paired. */
  paired: string | null;
}

/** The glaze wall for whoever stands in front of it. */
export function TabletWallPage({ done, paired, ...wall }: TabletWallPageProps) {
  const { person, reader } = wall;
  return (
    <>
      {paired !== null && <Flash words={`Paired: this is ${paired} now. Nobody is signed in on it.`} />}
      {done && <Done {...done} reader={reader} />}
      <h1>Glaze wall</h1>
      {person ? (
        <Notice title={`${person.actor.name}: which bucket?`}>
          <p>
            What you tap next is recorded in your name. <a href="/tablet">Not you?</a>
          </p>
        </Notice>
      ) : (
        <p class="soft">Tap your bucket, what you do, and your name.</p>
      )}
      <TabletCards {...wall} />
    </>
  );
}

export function TabletCards({ groups, count, person, reader }: TabletCardsProps) {
  const as = asWords(person);
  const empty = groups.every(({ buckets }) => buckets.length === 0);
  return (
    <div
      id="wall"
      {...liveRegion({ on: 'wall', href: `/tablet${as}`, now: reader.now, until: nextTurn(groups) })}
    >
      {empty ? (
        <Empty title="No bucket yet">
          <p>A technician puts the first one on the wall. It shows here as soon as it is there.</p>
        </Empty>
      ) : (
        <p class="soft" data-announce={count}>
          {count}
        </p>
      )}
      {groups.map(({ place, buckets }) => (
        <>
          {!empty && <h2>{place || 'No place given'}</h2>}
          <Wall
            cards={buckets.map((bucket) => ({
              ...card(bucket, reader, 3),
              href: `/tablet/buckets/${bucket.code}${as}`,
            }))}
          />
        </>
      ))}
    </div>
  );
}

function Done({
  bucket,
  event,
  struck,
  reader,
}: NonNullable<TabletWallPageProps['done']> & { reader: Reader }) {
  const back = `/tablet/buckets/${bucket.code}/take-back/${event.number}`;
  return (
    <Flash
      words={`${bucket.name}, ${event.by}: ${flashWords(event.entry, reader.units, struck)}`}
      {...(event.entry.kind !== 'void' && !event.voided && { more: { href: back, label: 'Take it back' } })}
    />
  );
}

interface TabletBucketPageProps extends BucketPage {
  safety: BucketSafety;
  person: AtTablet | null;
  reader: Reader;
}

const NONE: Set<number> = new Set();

export function TabletBucketPage({ bucket, trend, ledger, safety, person, reader }: TabletBucketPageProps) {
  const { state, why } = bucket.verdict;
  const at = `/tablet/buckets/${bucket.code}`;
  return (
    <>
      <Plate name={bucket.name} code={bucket.code} colour={bucket.colour}>
        {[bucket.place, firingWords(bucket), fullWords(bucket, reader)].filter(Boolean).join(' · ')}
      </Plate>
      {bucket.isReclaim && <SurpriseGlaze />}
      <VerdictPanel state={state} words={STATE_WORDS[state]} why={why}>
        <Gauge {...gaugeOf(bucket)} />
        <p>
          <b>Now:</b> {cardWords(bucket, reader).next}.
        </p>
      </VerdictPanel>
      {person && (
        <p>
          As <b>{person.actor.name}</b>. <a href={at}>Not you?</a>
        </p>
      )}
      <NoticesAtTablet notices={safety.notices} code={bucket.code} person={person} />
      <FourVerbs bucket={bucket} person={person} reader={reader} />
      <p class="row">
        <a class="plain" href={`/tablet${asWords(person)}`}>
          Back to the wall
        </a>
        <a class="plain" href={`${at}/note${asWords(person)}`}>
          Write a note
        </a>
        <a class="plain" href={`${at}/use${asWords(person)}`}>
          {bucket.facts.service === 'in-service' ? 'Stop its use' : 'Put it back in use'}
        </a>
      </p>
      <Housekeeping />
      <Panel title="Last three weeks">
        <BucketTrend bucket={bucket} trend={trend} ledger={ledger.events} reader={reader} />
      </Panel>
      <Panel title="Ledger">
        <LedgerTable
          code={bucket.code}
          events={ledger.events}
          facts={bucket.facts}
          voidable={NONE}
          reader={reader}
        />
      </Panel>
    </>
  );
}

/** All that a name alone is enough for. */
function FourVerbs({ bucket, person, reader }: Pick<TabletBucketPageProps, 'bucket' | 'person' | 'reader'>) {
  const at = `/tablet/buckets/${bucket.code}`;
  const as = asWords(person);
  const { service } = bucket.facts;
  const { do: next } = nextAct(bucket, 'member');
  const closed = service === 'do-not-use' || service === 'retired';
  const dip = person
    ? {
        post: `${at}/dip`,
        idempotencyKey: `${reader.key}-dip`,
        fields: { as: person.handle },
      }
    : { href: `${at}/dip` };
  return (
    <div class="acts verbs">
      {!closed && (
        <div class={next === 'dip' || next === 'stir' ? 'leads' : undefined}>
          <PlainAct {...dip} label="Stirred, dipping" />
        </div>
      )}
      <div class={next === 'check' ? 'leads' : undefined}>
        <PlainAct href={`${at}/check${as}`} label="Check SG" />
      </div>
      <div class={next === 'follow' ? 'leads' : undefined}>
        <PlainAct href={`${at}/water${as}`} label="Add water" />
      </div>
      <div>
        <PlainAct href={`${at}/problem${as}`} label="Problem" />
      </div>
    </div>
  );
}

const asWords = (person: AtTablet | null): string => (person ? `?as=${person.handle}` : '');
