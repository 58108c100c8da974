import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Beside, Choice, Field, Form, PhotoField, Select, Submit, TextArea } from '../ui/field.tsx';
import { Notice } from '../ui/panel.tsx';
import { SubPage } from './parts.tsx';

interface Props {
  bucket: BucketNow;
  buckets: BucketNow[];
  form: FormState;
  /** Names of clays that other tiles are on. */
  clays: string[];
  reader: Reader;
}

export function NewTilePage({ bucket, buckets, form, clays, reader }: Props) {
  const { kept } = form.typed;
  const isOnTest = bucket.facts.service === 'on-test';
  const { batch } = bucket.facts;
  const fired = bucket.atmosphere === 'either' ? null : bucket.atmosphere;
  return (
    <SubPage bucket={bucket} title={isOnTest ? 'A fired tile: does it pass?' : 'A fired tile'}>
      {isOnTest && (
        <Notice
          title={batch === null ? 'This bucket is on test' : `Batch ${batch} is on test`}
          tone="on-test"
        >
          <p>Accepted by a photo of its fired tile, the bucket is in service.</p>
        </Notice>
      )}
      <Form
        action={`/buckets/${bucket.code}/tiles/new`}
        form={form}
        idempotencyKey={reader.key}
        hidden={{ kept: typeof kept === 'string' ? kept : undefined }}
        takesFiles
      >
        {typeof kept === 'string' && (
          <figure class="tile">
            <img src={`/files/${kept}`} alt="What you sent before" />
            <figcaption>This photo is kept: no need to send it again.</figcaption>
          </figure>
        )}
        <PhotoField
          name="photo"
          label={kept === undefined ? 'Photo' : 'Another photo'}
          hint="In daylight, the whole tile in view. Where and when it was taken is not kept with it."
          optional={!isOnTest || kept !== undefined}
        />
        <Field
          name="clay"
          label="Clay"
          hint="As it is called in the studio: buff stoneware."
          maxlength={60}
          list="clays"
          autocomplete="off"
        />
        <datalist id="clays">
          {clays.map((clay) => (
            <option key={clay} value={clay} />
          ))}
        </datalist>
        <Beside>
          <Field name="cone" label="Cone" value={bucket.cones?.to} hint="Such as 6 or 04." maxlength={6} />
          <Select
            name="atmosphere"
            label="Fired in"
            value={fired ?? undefined}
            none="Not said"
            options={[
              { value: 'oxidation', label: 'Oxidation' },
              { value: 'reduction', label: 'Reduction' },
            ]}
            optional
          />
        </Beside>
        <Select
          name="over"
          label="Over another glaze"
          none="On its own"
          options={buckets
            .filter(({ code }) => code !== bucket.code)
            .map(({ code, name }) => ({ value: code, label: `${name} ${code}` }))}
          optional
        />
        <TextArea
          name="note"
          label="Note"
          hint="Whatever a potter should know: runs over Chalk."
          rows={2}
          maxlength={500}
          optional
        />
        {isOnTest && (
          <Choice
            name="verdict"
            label="What does it say of the glaze?"
            options={[
              { value: 'accepted', label: 'Accept the glaze', hint: 'the bucket is in service' },
              { value: 'not-accepted', label: 'Do not accept it', hint: 'it stays on test' },
              { value: 'picture-only', label: 'Nothing yet', hint: 'a picture only' },
            ]}
          />
        )}
        <Submit label="Add this tile" />
      </Form>
    </SubPage>
  );
}
