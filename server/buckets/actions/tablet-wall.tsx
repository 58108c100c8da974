import { TabletCards, TabletWallPage } from '../../../views/buckets/tablet.tsx';
import { MINUTE } from '../../core/clock.ts';
import { type Answer, go, type Visit, wantsFragment, watching } from '../../core/routes.ts';
import { findByScan } from '../../members/service/tablet.ts';
import { sentTablet, tabletCookie } from '../../members/visit.ts';
import { findBucket, listBuckets, listEvents } from '../service/index.ts';
import { arrange, counted } from '../wall.ts';
import { type Stand, standAt, tabletPage, whoIsIt } from './tablet.tsx';

/** After this long what was done is no longer news to whoever comes by. */
const NEWS = 2 * MINUTE;

/** The wall as a paired tablet shows it, in the order in which the buckets stand there. */
export async function showTabletWall(visit: Visit): Promise<Answer> {
  const stand = standAt(visit);
  const person = await whoIsIt(visit, stand);
  const all = await listBuckets(stand.read);
  const groups = arrange(all, { sort: 'place', cone: null, state: null });
  const { reader, device } = stand;
  const wall = { groups, count: counted(all), person, reader };
  if (wantsFragment(visit.request)) return tabletPage('Glaze wall', <TabletCards {...wall} />);
  const done = await whatWasDone(visit, stand);
  const isPlain = person === null && done === null;
  const answer = tabletPage(
    'Glaze wall',
    <TabletWallPage {...wall} done={done} paired={visit.query.paired === undefined ? null : device.name} />,
    { to: '/tablet', seconds: 60, stays: isPlain },
  );
  const secret = sentTablet(visit);
  return watching(
    ['wall'],
    answer.kind === 'page' && secret ? { ...answer, cookie: tabletCookie(visit, secret) } : answer,
  );
}

/** A card that the tablet's own camera read: its holder is known for the next act. */
export async function enterByCard(visit: Visit): Promise<Answer> {
  const { device, studio, read } = standAt(visit);
  const person = await findByScan({ db: read.tx, device, studio }, visit.param('secret'));
  return go(`/tablet?as=${person.handle}`);
}

async function whatWasDone({ query, now }: Visit, { read }: Stand) {
  const [code, raw] = typeof query.did === 'string' ? query.did.split('.') : [];
  if (code === undefined || raw === undefined || !/^\d{1,9}$/.test(raw)) return null;
  const number = Number(raw);
  const [bucket, { events }] = await Promise.all([
    findBucket(read, code),
    listEvents(read, code, { limit: 1, before: number + 1 }),
  ]);
  const [event] = events;
  if (event?.number !== number || !event.atTablet || now - event.recordedAt > NEWS) return null;
  const { entry } = event;
  if (entry.kind !== 'void') return { bucket, event, struck: undefined };
  const before = await listEvents(read, code, { limit: 1, before: entry.voids + 1 });
  return { bucket, event, struck: before.events[0]?.entry };
}
