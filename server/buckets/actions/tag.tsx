import { TagPage } from '../../../views/buckets/tag.tsx';
import { type Answer, emptyForm, type FormState, page, type Visit } from '../../core/routes.ts';
import { findBucket, listEvents } from '../service/index.ts';
import { readerOf } from './reader.ts';

/** The tag to print and hang on a bucket that nobody may dip from. */
export async function showTag(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const code = visit.param('code');
  const bucket = await findBucket(visit.read, code);
  const number = bucket.facts.serviceNumber;
  const set = number === null ? null : await listEvents(visit.read, code, { limit: 1, before: number + 1 });
  return page(
    `Tag for ${bucket.name}`,
    'wall',
    <TagPage
      bucket={bucket}
      by={set?.events[0]?.by ?? null}
      studio={visit.studio.name}
      form={form}
      reader={readerOf(visit)}
    />,
  );
}
