import { BucketWall, WallPage } from '../../../views/buckets/wall.tsx';
import { may } from '../../core/policy.ts';
import { type Answer, go, page, type Visit, wantsFragment, watching } from '../../core/routes.ts';
import { bucketsToRead, listBuckets } from '../service/index.ts';
import type { StateName } from '../verdict.ts';
import { type Arrangement, arrange, conesOf, counted, statesOf } from '../wall.ts';
import { readerOf } from './reader.ts';

/** The first page: what needs somebody for those who mend it, the glaze wall for everyone else. */
export const showFirst = async (visit: Visit): Promise<Answer> =>
  go(may(visit.caller.role, 'today.see') ? '/today' : '/wall');

export async function showWall(visit: Visit): Promise<Answer> {
  const [all, toRead] = await Promise.all([listBuckets(visit.read), bucketsToRead(visit.read)]);
  const [cones, states] = [conesOf(all), statesOf(all)];
  const { sort, cone, state } = visit.query;
  const how: Arrangement = {
    sort: sort === 'place' ? 'place' : 'worst',
    cone: cones.find((c) => c === cone) ?? null,
    state: states.find((s: StateName) => s === state) ?? null,
  };
  const wall = { groups: arrange(all, how), count: counted(all), toRead, how, reader: readerOf(visit) };
  const isPart = wantsFragment(visit.request);
  const body = isPart ? (
    <BucketWall {...wall} />
  ) : (
    <WallPage {...wall} cones={cones} states={states} empty={all.length === 0} />
  );
  return watching(['wall'], page('Glaze wall', 'wall', body));
}
