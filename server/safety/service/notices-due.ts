import type { Read } from '../../core/actor.ts';
import { DAY } from '../../core/clock.ts';
import { studioDay } from '../../core/session.ts';
import { toWallTime } from '../../core/wall-time.ts';
import type { SafetyDue } from '../../materials/due.ts';
import { changeWords } from '../notice.ts';
import * as store from '../store/notices.ts';
import { changeSince, classificationsOf, targetOf } from './notice-target.ts';

/** A notice that ends within this is told of. */
const ENDS_SOON_DAYS = 14;

/**
 * What about notices needs a technician: those whose classes changed since they were posted, buckets whose recipe has
 * classes and that have no notice, and those that end soon. The worst first.
 */
export async function noticesDue(read: Read): Promise<SafetyDue[]> {
  const day = await studioDay(read);
  const [hanging, buckets] = await Promise.all([
    store.listHanging(read.tx, day),
    store.bucketsInUse(read.tx),
  ]);
  const contents = ({ recipe }: (typeof buckets)[number]) => ({ recipe, materialId: null });
  const classified = await classificationsOf(read, [...hanging.map(targetOf), ...buckets.map(contents)]);
  const review: SafetyDue[] = [];
  const ending: SafetyDue[] = [];
  const soon = toWallTime(Date.parse(day) + ENDS_SOON_DAYS * DAY, 'UTC').slice(0, 10);
  for (const row of hanging) {
    const target = targetOf(row);
    const change = changeSince(row.basis, classified(target));
    const act = { label: 'Look it over', href: `/notices/${row.number}/edit` };
    if (change !== null)
      review.push({
        title: target.name,
        what: `Notice ${row.number} is to be reviewed: ${changeWords(change)}.`,
        act,
      });
    if (row.validTo !== null && row.validTo <= soon)
      ending.push({ title: target.name, what: `Notice ${row.number} ends on ${row.validTo}.`, act });
  }
  const noticed = new Set(hanging.map(({ bucketId }) => bucketId));
  const hasClass = (bucket: (typeof buckets)[number]) =>
    (classified(contents(bucket))?.basis.classes.length ?? 0) > 0;
  const bare = buckets.filter((bucket) => !noticed.has(bucket.id) && hasClass(bucket));
  return [...review, ...withoutNotice(bare), ...ending];
}

/** One line for all of them: on the first day that is most of the wall. */
function withoutNotice(bare: { code: string; name: string }[]): SafetyDue[] {
  const [first] = bare;
  if (!first) return [];
  const all = bare.map(({ name, code }) => `${name} ${code}`);
  return [
    {
      title: bare.length === 1 ? (all[0] as string) : `${bare.length} buckets without a notice`,
      what:
        bare.length === 1
          ? 'What is in it has a hazard class, and no notice hangs there.'
          : `What is in them has a hazard class: ${all.join(', ')}.`,
      act: { label: `Write one for ${first.name}`, href: `/notices/new?bucket=${first.code}` },
    },
  ];
}
