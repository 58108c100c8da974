import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { Way } from '../../server/buckets/advice.ts';
import type { NextAct } from '../../server/buckets/next-act.ts';
import { takeOutWords, wayWords } from '../../server/buckets/sentences.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import { fromKg, fromLitres, volume } from '../../server/core/units.ts';
import { Panel } from '../ui/panel.tsx';
import { Act, type ActTarget, PlainAct } from '../ui/verdict.tsx';

interface NextStepProps {
  bucket: BucketNow;
  next: NextAct;
  reader: Reader;
}

const TELL: Record<Extract<NextAct, { do: 'tell-technician' }>['because'], string> = {
  thin: 'Or try a test piece first. It stands on the technician’s list already.',
  full: 'It is too full for the water it needs: slurry must come out first.',
  stiff: 'Water would only make it thin. It stands on the technician’s list already.',
};

/** The one big act of a bucket's page. */
export function NextStep({ bucket, next, reader }: NextStepProps) {
  const at = `/buckets/${bucket.code}`;
  const key = `${reader.key}-next`;
  switch (next.do) {
    case 'dip':
      return (
        <Act
          post={`${at}/dippings`}
          idempotencyKey={key}
          fields={{ stirred: 'yes' }}
          label="Stirred, dipping"
          small="Tap when you have stirred to the bottom. You can say afterwards how many pieces."
        />
      );
    case 'stir':
      return (
        <Act
          post={`${at}/stirs`}
          idempotencyKey={key}
          label="Stir to the bottom, then tap here"
          small={`Good for ${bucket.stirIntervalMinutes} min.`}
        />
      );
    case 'check':
      return (
        <Act
          href={`${at}/check`}
          label="Stir to the bottom, then check SG"
          small="Fill the cup to the brim and weigh it, or float the hydrometer."
        />
      );
    case 'ask-level':
      return <AskLevel at={at} reader={reader} />;
    case 'follow':
      return <Follow way={next.way} bucket={bucket} reader={reader} />;
    case 'take-out':
      return <TakeOut litres={next.litres} way={next.way} bucket={bucket} reader={reader} />;
    case 'tell-technician':
      return (
        <Act
          href="/wall?state=ready"
          label="Tell the technician, use another bucket"
          small={TELL[next.because]}
        />
      );
    case 'loosen':
      return (
        <Act
          href={`${at}/additive`}
          label="Loosen it: a drop of deflocculant"
          small="No water. Stir, wait ten minutes, check the flow again."
        />
      );
    case 'hang-tag':
      return (
        <Act
          href={`${at}/tag`}
          label="Print the tag and hang it on the bucket"
          small="Nobody standing at the bucket sees this page."
        />
      );
    case 'return-to-service':
      return (
        <Act
          href={`${at}/service`}
          label="Put it back in service, once it is right"
          small="Sieved, checked, or mixed anew."
        />
      );
    case 'accept-test':
      return (
        <Act
          href={`${at}/tiles/new`}
          label="Fired tile out of the kiln? Accept the glaze by it"
          small="Until then nobody should dip ware from it."
        />
      );
    case 'use-another':
      return <Act href="/wall?state=ready" label="Use another bucket" small="These are ready to dip." />;
  }
}

function Follow({ way, bucket, reader }: { way: Way; bucket: BucketNow; reader: Reader }) {
  const words = wayWords(way, { aim: bucket.target.aim, units: reader.units });
  return (
    <>
      <Caution way={way} bucket={bucket} />
      <Act {...recordOf(way, bucket.code, reader)} label={words.title} small={words.small} />
      {way.kind === 'add-water' && (
        <p class="soft">Poured? Tap it, and it is recorded. Then stir and check SG.</p>
      )}
    </>
  );
}

/** One more way, as a quiet act under the first. */
export function OtherWay({ way, bucket, reader }: { way: Way; bucket: BucketNow; reader: Reader }) {
  const words = wayWords(way, { aim: bucket.target.aim, units: reader.units });
  const out =
    way.takeOutFirst === undefined
      ? ''
      : `Take ${volume(way.takeOutFirst, reader.units)} of slurry out first. `;
  return (
    <Panel title={words.title}>
      <p>
        {out}
        {words.small}.
      </p>
      <Caution way={way} bucket={bucket} />
      <PlainAct
        {...recordOf(way, bucket.code, { ...reader, key: `${reader.key}-${way.kind}` })}
        label={way.kind === 'blend' ? 'I did this: say its SG' : 'I did this'}
      />
    </Panel>
  );
}

function TakeOut({
  litres,
  way,
  bucket,
  reader,
}: {
  litres: number;
  way: Way;
  bucket: BucketNow;
  reader: Reader;
}) {
  const words = takeOutWords(litres, reader.units);
  const then = wayWords(way, { aim: bucket.target.aim, units: reader.units });
  return (
    <Act
      post={`/buckets/${bucket.code}/draw-offs`}
      idempotencyKey={`${reader.key}-next`}
      fields={{ what: 'slurry', to: 'batch', litres: fromLitres(litres, reader.units) }}
      label={words.title}
      small={`${words.small} Then: ${then.title.charAt(0).toLowerCase()}${then.title.slice(1)}.`}
    />
  );
}

/**
 * Recorded by one tap, but for a blend: its form opens with the amount filled in, because the gravity of what is
 * blended in is for the person to say.
 */
function recordOf(way: Way, code: string, reader: Reader): ActTarget {
  const at = `/buckets/${code}`;
  if (way.kind === 'add-dry') {
    const fields = { kind: 'dry', kilograms: fromKg(way.first, reader.units) };
    return { post: `${at}/top-ups`, idempotencyKey: `${reader.key}-next`, fields };
  }
  const litres = fromLitres(way.first, reader.units);
  switch (way.kind) {
    case 'add-water':
      return {
        post: `${at}/top-ups`,
        idempotencyKey: `${reader.key}-next`,
        fields: { kind: 'water', litres },
      };
    case 'blend':
      return {
        href: `${at}/add?what=slurry&litres=${figure(litres)}&specificGravity=${way.specificGravity}`,
      };
    case 'take-water-off':
      return {
        post: `${at}/draw-offs`,
        idempotencyKey: `${reader.key}-next`,
        fields: { what: 'water', to: 'rinse', litres },
      };
  }
}

const figure = (amount: number): string => String(Number(amount.toFixed(3)));

function Caution({ way, bucket }: { way: Way; bucket: BucketNow }) {
  if (way.kind !== 'add-dry') return null;
  return <DryCaution mesh={bucket.sieveMesh} />;
}

/** Dry powder over a bucket is silica and metal dust in a shared room. */
export function DryCaution({ mesh }: { mesh?: number }) {
  return (
    <p>
      <b>Last resort.</b> Respirator on, extraction on. Slake it in water first, never over the open bucket;
      then sieve it in{mesh !== undefined && `, ${mesh} mesh`}.
    </p>
  );
}

function AskLevel({ at, reader }: { at: string; reader: Reader }) {
  const quarter = (quarters: number, label: string) => (
    <PlainAct
      post={`${at}/levels`}
      idempotencyKey={`${reader.key}-level-${quarters}`}
      fields={{ quarters }}
      label={label}
    />
  );
  return (
    <Panel title="How full is it?">
      <p>The amount depends on it, and nobody has looked for a while.</p>
      <div class="acts">
        {quarter(1, 'A quarter')}
        {quarter(2, 'Half')}
        {quarter(3, 'Three quarters')}
        {quarter(4, 'Full')}
      </div>
      <p>
        <a href={`${at}/level`}>By stick mark, or in litres</a>
      </p>
    </Panel>
  );
}
