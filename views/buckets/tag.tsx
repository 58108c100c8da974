import type { Reader } from '../../server/buckets/actions/reader.ts';
import { PROBLEMS, type Problem } from '../../server/buckets/problems.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime, toWallTime } from '../../server/core/wall-time.ts';
import { Form, Submit } from '../ui/field.tsx';
import { Chip, StateIcon } from '../ui/icons.tsx';
import { Notice } from '../ui/panel.tsx';
import { Housekeeping } from './parts.tsx';

interface TagPageProps {
  bucket: BucketNow;
  /** Who took it out of use. */
  by: string | null;
  studio: string;
  form: FormState;
  reader: Reader;
}

export function TagPage({ bucket, by, studio, form, reader }: TagPageProps) {
  const { facts } = bucket;
  const at = `/buckets/${bucket.code}`;
  return (
    <>
      {facts.service === 'do-not-use' ? (
        <>
          <Tag bucket={bucket} by={by} studio={studio} reader={reader} />
          <div class="screen-only narrow">
            <p>Nobody standing at the bucket sees this page: the tag on it is what stops them.</p>
            <button class="do" type="button" data-print>
              Print the tag
              <small>or write the same on a piece of tape</small>
            </button>
            <Form action={`${at}/tags`} form={form} idempotencyKey={reader.key}>
              {facts.tagHungAt === null ? (
                <Submit label="Tag hung on the bucket" look="plain" />
              ) : (
                <p>
                  <b>Tag hung</b> {shownTime(facts.tagHungAt, reader.now, reader.timeZone)}.
                </p>
              )}
            </Form>
          </div>
        </>
      ) : (
        <Notice title={`${bucket.name} is not marked “Do not use”`}>
          <p>There is no tag to hang on it.</p>
        </Notice>
      )}
      <p class="screen-only">
        <a href={at}>Back to {bucket.name}</a>
      </p>
      <Housekeeping />
    </>
  );
}

function Tag({ bucket, by, studio, reader }: Omit<TagPageProps, 'form'>) {
  const { facts } = bucket;
  const cause = facts.serviceCause === null ? undefined : PROBLEMS[facts.serviceCause as Problem];
  return (
    <article class="tag is-do-not-use">
      <StateIcon state="do-not-use" />
      <h1>Do not use</h1>
      <p class="tag-name">
        <Chip colour={bucket.colour} /> {bucket.name} <span class="code">{bucket.code}</span>
      </p>
      <p class="tag-why">
        {[cause, bucket.serviceReason].filter(Boolean).join('. ') || 'Ask the technician.'}
      </p>
      <p>
        {by && `${by}, `}
        {facts.serviceSince !== null && `since ${onPaper(facts.serviceSince, reader.timeZone)}`}
        {` · ${studio}`}
      </p>
    </article>
  );
}

/** On paper "today" is soon wrong. */
const onPaper = (at: Instant, timeZone: string): string => toWallTime(at, timeZone).replace('T', ' ');
