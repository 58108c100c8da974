import { BucketPage, BucketParts, type Did } from '../../../views/buckets/bucket.tsx';
import { MINUTE } from '../../core/clock.ts';
import { emptyForm, type FormState, page, type Visit, wantsFragment, watching } from '../../core/routes.ts';
import { type BucketPage as Contents, mayVoid, showBucketSafely } from '../service/index.ts';
import { readerOf } from './reader.ts';

/** After this long, `?did=` in an address is an old page and no longer news. */
const NEWS = 15 * MINUTE;

/** A bucket's page; for htmx without what was just done, which is news once. */
export const showBucketPage = (visit: Visit) => showBucketWith(visit, emptyForm());

export async function showBucketWith(visit: Visit, form: FormState) {
  const contents = await showBucketSafely(visit.read, visit.param('code'));
  const { bucket, ledger } = contents;
  const voidable = new Set(
    ledger.events.filter((e) => mayVoid(visit.read, { ...e, kind: e.entry.kind })).map((e) => e.number),
  );
  const parts = { ...contents, voidable, reader: readerOf(visit) };
  const refused = form.errors.map(({ message }) => message).join(' ') || null;
  return watching(
    [`bucket.${bucket.code}`],
    page(
      `${bucket.name} ${bucket.code}`,
      'wall',
      wantsFragment(visit.request) && refused === null ? (
        <BucketParts {...parts} />
      ) : (
        <BucketPage {...parts} did={didOf(visit, contents)} refused={refused} />
      ),
    ),
  );
}

/** The act that led here, if it is this person's own and still news. */
function didOf(visit: Visit, { ledger }: Contents): Did | null {
  const event = ledger.events.find((e) => String(e.number) === visit.query.did);
  if (!event || event.byId !== visit.caller.id || visit.now - event.recordedAt > NEWS) return null;
  const { entry } = event;
  const struck =
    entry.kind === 'void' ? ledger.events.find((e) => e.number === entry.voids)?.entry : undefined;
  return {
    event,
    struck,
    undo: entry.kind !== 'void' && !event.voided && mayVoid(visit.read, { ...event, kind: entry.kind }),
  };
}
