import type { Typed } from '../../core/forms.ts';
import { type Answer, type FormState, get, go, post, type Route, type Visit } from '../../core/routes.ts';
import { KINDS, type KindPath } from '../kinds.ts';
import { asMade, recordAct } from '../service/index.ts';
import { showBucketWith } from './bucket.tsx';

type Show = (visit: Visit, form: FormState) => Promise<Answer>;

/**
 * Records one act from its form, then shows the bucket with what came of it. What is refused comes back on the
 * page that `show` makes.
 */
export const recording =
  (path: KindPath, show: Show, typed?: Typed) =>
  (visit: Visit): Promise<Answer> =>
    visit.submit(
      (form) => show(visit, form),
      async () => {
        const code = visit.param('code');
        const body = visit.form(KINDS[path].body, typed);
        const { late } = visit;
        const number = await visit.act(async (act) => {
          const made = await asMade(act, code, path, body, late);
          return (await recordAct(act, code, path, made)).event.number;
        });
        return go(`/buckets/${code}?did=${number}`);
      },
    );

const backToBucket = async (visit: Visit): Promise<Answer> =>
  go(`/buckets/${encodeURIComponent(visit.param('code'))}`);

/** An act recorded in one tap from a page of the bucket; its address, opened by itself, leads to the bucket. */
export const tap = (path: KindPath, show: Show = showBucketWith): Route[] => [
  get(`/buckets/:code/${path}`, 'buckets.see', backToBucket),
  post(`/buckets/:code/${path}`, 'buckets.record', recording(path, show)),
];
