import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import type { Clay } from '../../server/ware/service/clays.ts';
import type { CoatAdvice } from '../../server/ware/service/coat.ts';
import { type CoatTile, tileAgainstBucket } from '../../server/ware/service/coat-tiles.ts';
import { TimeAndNote } from '../buckets/parts.tsx';
import { Beside, Form, NumberField, Select, Submit } from '../ui/field.tsx';
import { Flash, More } from '../ui/panel.tsx';
import { coatAt, countWords } from './coat.tsx';

interface NewTileProps {
  clays: Clay[];
  buckets: BucketNow[];
  form: FormState;
  /** The tile before this one, and what it made of the count. */
  kept: { tile: CoatTile; words: string | null } | null;
  /** What is counted for this pair so far. */
  advice: CoatAdvice | null;
  newKey: string;
}

const DETAILS = new Set(['dryGrams', 'specificGravity', 'happenedAt', 'note']);

/** A new test tile; clay, bucket and area stay for the next. */
export function NewTilePage({ clays, buckets, form, kept, advice, newKey }: NewTileProps) {
  const warning = kept && tileAgainstBucket(kept.tile);
  return (
    <>
      {kept && (
        <Flash
          words={`Kept: ${kept.tile.seconds} s left ${kept.tile.mm.toFixed(2)} mm. ${[kept.words, warning].filter(Boolean).join(' ')}`}
          tone={warning ? 'warned' : 'done'}
        />
      )}
      <h1>A test tile</h1>
      {advice && (
        <p>
          {advice.clay.name} in {advice.bucket.name} so far: <strong>{countWords(advice.dwell)}</strong>.{' '}
          <a href={coatAt(advice.clay.id, advice.bucket.code)}>See the tiles</a>
        </p>
      )}
      <p class="soft narrow">
        Stir first. Weigh the tile, dip it, let it drip, wipe edges and back with the damp sponge, weigh it
        again. Give each tile another count, such as 1, 2, 3, 5 and 8.
      </p>
      <Form
        action="/bench/tiles/new"
        form={form}
        idempotencyKey={newKey}
        hidden={{ confirm: form.doubtful ? 'yes' : undefined }}
      >
        <Select
          name="clay"
          label="Clay"
          none="Choose"
          options={clays.map(({ name }) => ({ value: name, label: name }))}
        />
        <Select
          name="bucket"
          label="Bucket"
          none="Choose"
          options={buckets.map(({ code, name, facts }) => ({
            value: code,
            label: `${name} ${code}${facts.gravity === null ? '' : `, ${facts.gravity.toFixed(2)}`}`,
          }))}
        />
        <NumberField
          name="areaCm2"
          label="Glazed area"
          hint="All of it that was under: both faces of a tile dipped whole."
          unit="cm²"
        />
        <NumberField name="seconds" label="Counted" unit="s" />
        <Beside>
          <NumberField name="beforeGrams" label="Before the dip" unit="g" />
          <NumberField name="afterGrams" label="After dip and sponge" unit="g" />
        </Beside>
        <More
          summary="Weighed dry, gravity, time, note"
          open={form.errors.some(({ path }) => DETAILS.has(path))}
        >
          <div class="form">
            <NumberField
              name="dryGrams"
              label="Bone dry"
              hint="If you weighed it again: it then checks the gravity of the bucket."
              unit="g"
              optional
            />
            <NumberField
              name="specificGravity"
              label="Gravity of the bucket then"
              hint="Only where it was not what the bucket's page says."
              optional
            />
            <TimeAndNote />
          </div>
        </More>
        <Submit label={form.doubtful ? 'Yes, it is right: keep it' : 'Keep it, next tile'} />
        <Submit label="Keep it and show the count" look="plain" name="next" value="count" />
      </Form>
      <p>
        <a href="/bench/coat">How long to dip</a>
      </p>
    </>
  );
}
