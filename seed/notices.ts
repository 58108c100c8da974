import { DAY, HOUR, type Instant } from '../server/core/clock.ts';
import {
  draftFor,
  findTarget,
  noticeBody,
  postNotice,
  readNotice,
} from '../server/safety/service/notices.ts';
import type { By } from './ware.ts';

/** Glazes whose colourants go beyond the common rules; who has read what hangs there. */
const ON_BUCKETS = [
  { bucket: 'CF', daysAgo: 9, readBy: ['Tomas', 'Petra', 'Noor', 'Maro'] },
  { bucket: 'CB', daysAgo: 2, readBy: ['Petra'] },
] as const;

/** Notices as Wren posted them: two drafted from the classes, two in her own words. After all that was dipped. */
export async function hangNotices(by: By, now: Instant): Promise<void> {
  for (const { bucket, daysAgo, readBy } of ON_BUCKETS) {
    const at = now - daysAgo * DAY;
    const wren = by('Wren', at);
    const { words } = await draftFor(wren, await findTarget(wren, { scope: 'bucket', bucket }));
    const said = Object.fromEntries(Object.entries(words).filter(([, line]) => line !== ''));
    const number = await postNotice(wren, noticeBody.parse({ scope: 'bucket', bucket, ...said }));
    for (const [i, who] of readBy.entries()) await readNotice(by(who, at + (i + 1) * 5 * HOUR), number);
  }
  await postNotice(
    by('Wren', now - 20 * DAY),
    noticeBody.parse({
      scope: 'kiln',
      kiln: 'G',
      title: 'Gale: look in through dark glass only',
      dipping: 'Dark eyewear at the spy holes, hair tied back, and stand to the side.',
    }),
  );
  await postNotice(
    by('Wren', now - DAY),
    noticeBody.parse({
      scope: 'room',
      room: 'Spray corner',
      title: 'Spray corner: the extraction is being mended',
      mixing: 'No spraying until the sign is down.',
    }),
  );
}
