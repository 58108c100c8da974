import { TabletBucketPage } from '../../../views/buckets/tablet.tsx';
import type { Answer, Visit } from '../../core/routes.ts';
import { showBucketSafely } from '../service/index.ts';
import { standAt, tabletPage, whoIsIt } from './tablet.tsx';

export async function showTabletBucket(visit: Visit): Promise<Answer> {
  const stand = standAt(visit);
  const { read, reader } = stand;
  const person = await whoIsIt(visit, stand);
  const contents = await showBucketSafely(
    read,
    visit.param('code'),
    person ? { ...read, actor: person.actor } : read,
  );
  const { bucket } = contents;
  return tabletPage(
    `${bucket.name} ${bucket.code}`,
    <TabletBucketPage {...contents} person={person} reader={reader} />,
  );
}
