import type { VNode } from 'preact';
import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { Entry } from '../../server/buckets/kinds.ts';
import { nextAct, otherWays } from '../../server/buckets/next-act.ts';
import { outlookWords } from '../../server/buckets/outlook.ts';
import { doubtWords, flashWords, gravityFigure, jumpWords } from '../../server/buckets/sentences.ts';
import type { BucketNow, BucketPage as Contents, LedgerEvent } from '../../server/buckets/service/index.ts';
import type { BucketSafety } from '../../server/buckets/service/safety-gate.ts';
import { ago, STATE_WORDS, span } from '../../server/buckets/verdict.ts';
import { fromLitres, mass } from '../../server/core/units.ts';
import { Plate } from '../ui/card.tsx';
import { Gauge } from '../ui/gauge.tsx';
import { liveRegion } from '../ui/live.ts';
import { Facts, Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { Act, Acts, PlainAct, VerdictPanel } from '../ui/verdict.tsx';
import { ReadNotices, UnreadNotices } from './bucket-notices.tsx';
import { BucketTrend } from './bucket-trend.tsx';
import { FlowSentence, flowWords } from './flow.tsx';
import { LedgerTable } from './ledger.tsx';
import { NextStep, OtherWay } from './next-step.tsx';
import { bandWords, firingWords, fullWords, Housekeeping } from './parts.tsx';
import { RinseLink, SurpriseGlaze } from './rinse.tsx';
import { SomeTiles } from './tiles.tsx';
import { gaugeOf } from './wall.tsx';

/** What the reader did just before. */
export interface Did {
  event: LedgerEvent;
  /** What it strikes out. */
  struck: Entry | undefined;
  undo: boolean;
}

interface BucketPageProps extends Contents {
  safety: BucketSafety;
  voidable: Set<number>;
  did: Did | null;
  /** Why an act in one tap was not recorded. */
  refused: string | null;
  reader: Reader;
}

export function BucketPage({ did, refused, ...parts }: BucketPageProps) {
  return (
    <>
      {refused !== null && <Flash words={refused} tone="refused" />}
      {did && <Done did={did} at={`/buckets/${parts.bucket.code}`} reader={parts.reader} />}
      <BucketParts {...parts} />
    </>
  );
}

type Parts = Omit<BucketPageProps, 'did' | 'refused'>;

/** All of it but what was just done: somebody else may record at the same bucket, and time goes by. */
export function BucketParts({ bucket, trend, ledger, tiles, safety, voidable, reader }: Parts) {
  const at = `/buckets/${bucket.code}`;
  const others = otherWays(bucket, nextAct(bucket, whoIs(reader)));
  const unread = hasUnread(safety);
  const leap = jumpWords(bucket.facts, bucket.target);
  return (
    <div
      id="bucket"
      {...liveRegion({ on: 'bucket', href: at, now: reader.now, until: bucket.verdict.readyUntil })}
    >
      <Plate name={bucket.name} code={bucket.code} colour={bucket.colour}>
        {[bucket.place, firingWords(bucket), fullWords(bucket, reader), levelWords(bucket, reader)]
          .filter(Boolean)
          .join(' · ')}
      </Plate>
      <UnreadNotices notices={safety.notices} next={at} idempotencyKey={reader.key} />
      <div class="split">
        <div>
          <Now bucket={bucket} unread={unread} reader={reader} />
          {bucket.isReclaim && <SurpriseGlaze />}
          {reader.technician && <FlowSentence bucket={bucket} />}
          {others.length > 0 && (
            <More summary={others.length === 1 ? 'Another way' : `${others.length} other ways`}>
              {others.map((way) => (
                <OtherWay key={way.kind} way={way} bucket={bucket} reader={reader} />
              ))}
            </More>
          )}
          <FourActs bucket={bucket} unread={unread} reader={reader} />
          <ReadNotices notices={safety.notices} />
          <Doubts bucket={bucket} at={at} />
          <Housekeeping />
          <Panel title="Recipe and care">
            <Care bucket={bucket} food={safety.food} reader={reader} />
            <OnDemand bucket={bucket} reader={reader} />
          </Panel>
          <Tools bucket={bucket} at={at} reader={reader} />
        </div>
        <div>
          <Panel title="Last three weeks">
            <BucketTrend bucket={bucket} trend={trend} ledger={ledger.events} reader={reader} />
            {leap && <p class="soft">{leap}</p>}
          </Panel>
          <Panel title="Fired tiles">
            <SomeTiles bucket={bucket} tiles={tiles} reader={reader} />
          </Panel>
          <Panel title="Ledger">
            <LedgerTable
              code={bucket.code}
              events={ledger.events}
              facts={bucket.facts}
              voidable={voidable}
              reader={reader}
            />
            <p>
              <a href={`${at}/ledger`}>The whole ledger</a>
            </p>
          </Panel>
        </div>
      </div>
    </div>
  );
}

export const hasUnread = ({ notices }: BucketSafety): boolean => notices.some((notice) => notice.unread);

interface NowProps {
  bucket: BucketNow;
  /** A notice above must be read before anybody dips. */
  unread: boolean;
  reader: Reader;
}

/** Verdict and next act. */
function Now({ bucket, unread, reader }: NowProps) {
  const { state, why } = bucket.verdict;
  const outlook = outlookWords(bucket, reader.now, reader.timeZone);
  const next = nextAct(bucket, whoIs(reader));
  return (
    <div>
      <VerdictPanel state={state} words={STATE_WORDS[state]} why={why}>
        <Gauge {...gaugeOf(bucket)} />
        {outlook && <p>{outlook}</p>}
      </VerdictPanel>
      {unread && next.do === 'dip' ? (
        <Act href="#to-read" label="Read the notice, then dip" small="It is above." />
      ) : (
        <NextStep bucket={bucket} next={next} reader={reader} />
      )}
    </div>
  );
}

const whoIs = (reader: Reader) => (reader.technician ? 'technician' : 'member');

function Done({ did, at, reader }: { did: Did; at: string; reader: Reader }) {
  const { event, struck, undo } = did;
  const { entry } = event;
  return (
    <Flash
      words={flashWords(entry, reader.units, struck)}
      {...(undo && {
        undo: {
          action: `${at}/events/${event.number}/void`,
          label: 'Undo',
          idempotencyKey: `${reader.key}-undo`,
          fields: { reason: 'Undone at once' },
        },
      })}
      {...(undo &&
        entry.kind === 'dipping' &&
        entry.pieces === 1 && {
          more: { href: `${at}/dip?instead=${event.number}`, label: 'Say how many pieces' },
        })}
    />
  );
}

function FourActs({ bucket, unread, reader }: NowProps) {
  const at = `/buckets/${bucket.code}`;
  const { service } = bucket.facts;
  const closed = service === 'do-not-use' || service === 'retired';
  return (
    <>
      <Acts>
        {closed ? (
          <PlainAct href={`${at}/level`} label="How full?" />
        ) : unread ? (
          <PlainAct href="#to-read" label="Read first, then dip" />
        ) : (
          <PlainAct
            post={`${at}/dippings`}
            idempotencyKey={`${reader.key}-dip`}
            fields={{ stirred: 'yes' }}
            label="Stirred, dipping"
          />
        )}
        <PlainAct href={`${at}/check`} label="Check SG" />
        <PlainAct href={`${at}/add`} label="Add" />
        <PlainAct href={`${at}/problem`} label="Problem" />
      </Acts>
      <div class="row">
        <PlainAct post={`${at}/stirs`} idempotencyKey={`${reader.key}-stirred`} label="Only stirred" />
        {!closed && <PlainAct href={`${at}/dip`} label="Count pieces" />}
        {!closed && <PlainAct href={`${at}/level`} label="How full?" />}
        <PlainAct href={`${at}/flow`} label="Check flow" />
        <PlainAct href={`/bench/coat?bucket=${bucket.code}`} label="How long to dip" />
      </div>
    </>
  );
}

function levelWords({ facts }: BucketNow, reader: Reader): string {
  if (facts.litres === null) return 'level not known';
  return facts.levelSeenAt === null ? 'level never seen' : `level seen ${ago(facts.levelSeenAt, reader.now)}`;
}

/** What the ledger says that cannot have been. */
function Doubts({ bucket, at }: { bucket: BucketNow; at: string }) {
  const { doubts } = bucket.facts;
  if (doubts.length === 0) return null;
  return (
    <Notice title="Some of what was recorded cannot have been" tone="ask-technician">
      <ul>
        {doubts.map(({ number }) => (
          <li key={number}>
            <a href={`${at}/ledger?before=${number + 1}`}>Number {number}</a>:{' '}
            {doubtWords(bucket.facts, number)}
          </li>
        ))}
      </ul>
      <p>Litres and solids are less sure until the level is seen and SG is checked.</p>
    </Notice>
  );
}

function Care({ bucket, food, reader }: { bucket: BucketNow; food: string; reader: Reader }) {
  const { facts, target } = bucket;
  const recipe = facts.recipe ? (
    <>
      <a href={`/recipes/${facts.recipe.id}`}>{bucket.recipeName}</a>, version {facts.recipe.version}
    </>
  ) : (
    bucket.recipeName
  );
  const items: Parameters<typeof Facts>[0]['items'] = [
    ['Recipe', recipe],
    ['Wanted', `SG ${bandWords(target)}, aim ${gravityFigure(target.aim)}`],
    ['In it', contents(bucket, reader)],
    [
      'Hazards',
      <a key="hazards" href={`/buckets/${bucket.code}/hazards`}>
        what it is classified as, and why
      </a>,
    ],
    ...(food === '' ? [] : [['Food', food] as [string, string]]),
    ...(facts.batch === null ? [] : [['Batch', batchWords(facts.batch, bucket, reader)] as [string, VNode]]),
    ['Stir', `before dipping, again every ${span(bucket.stirIntervalMinutes)}`],
    ['A reading', `is trusted for ${span(bucket.readingTrustedHours * 60)}`],
    ...(bucket.flow || facts.flowAt !== null
      ? [['Flow', flowWords(bucket, reader)] as [string, string]]
      : []),
    ['Sieve', `${bucket.sieveMesh} mesh`],
    ...(bucket.isReclaim ? [] : [['Rinse in', <RinseLink key="rinse" bucket={bucket} />] as [string, VNode]]),
    ...(facts.hasSolubles
      ? [['Solubles', 'never take water off: they would leave with it'] as [string, string]]
      : []),
    ...(bucket.careNotes ? [['Care', bucket.careNotes] as [string, string]] : []),
  ];
  return <Facts items={items} />;
}

/** The calculator with this bucket filled in: what it would take to reach any other gravity. */
function OnDemand({ bucket, reader }: { bucket: BucketNow; reader: Reader }) {
  const { litres, gravity, solidsDensity } = bucket.facts;
  if (litres === null || gravity === null) return null;
  const filled = new URLSearchParams({
    litres: fromLitres(litres, reader.units).toFixed(2),
    sg: gravity.toFixed(3),
    aim: String(bucket.target.aim),
    density: solidsDensity.toFixed(3),
    capacity: fromLitres(bucket.capacityLitres, reader.units).toFixed(2),
  });
  return (
    <p>
      <a href={`/calculator?${filled}`}>Work out what another gravity would take</a>
    </p>
  );
}

/** The newest batch; which others are in it too is for its ledger to say. */
function batchWords(batch: number, { code }: BucketNow, reader: Reader): VNode {
  return (
    <>
      {reader.technician ? <a href={`/batches/${batch}`}>batch {batch}</a> : `batch ${batch}`}{' '}
      <a href={`/buckets/${code}/ledger`}>(which batches were in it, and when)</a>
    </>
  );
}

function contents({ facts }: BucketNow, { units }: Reader): string {
  const density = `dry glaze ${facts.solidsDensity.toFixed(2)} g/cm³`;
  if (facts.solidsKg === null || facts.waterKg === null) return density;
  return `${mass(facts.solidsKg, units)} dry, ${mass(facts.waterKg, units)} water; ${density}`;
}

/** What only those who look after the wall need. */
function Tools({ bucket, at, reader }: { bucket: BucketNow; at: string; reader: Reader }) {
  if (!reader.technician)
    return (
      <p>
        <a href={`${at}/service`}>Stop its use</a>
      </p>
    );
  const { service } = bucket.facts;
  return (
    <Panel title="Technician">
      <div class="row">
        <PlainAct
          href={`${at}/service`}
          label={service === 'in-service' ? 'On test, stop, retire' : 'Put back in use'}
        />
        {service === 'do-not-use' && <PlainAct href={`${at}/tag`} label="Tag" />}
        <PlainAct href={`${at}/draw-off`} label="Take out" />
        <PlainAct href={`${at}/sieve`} label="Sieved" />
        <PlainAct href={`${at}/chart`} label="Control chart" />
        <PlainAct href={`${at}/additive`} label="Loosen or stiffen" />
        <PlainAct href={`${at}/settling`} label="Settling" />
        <PlainAct href={`/batches/new?bucket=${bucket.code}`} label="Mix a batch" />
        <PlainAct href={`${at}/setup`} label="Set up" />
        <PlainAct href={`/notices/new?bucket=${bucket.code}`} label="Notice" />
        <PlainAct href={`${at}/label`} label="Labels" />
        <PlainAct href={`${at}/edit`} label="Edit" />
      </div>
    </Panel>
  );
}
