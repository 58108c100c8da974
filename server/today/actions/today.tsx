import { DueList, TodayPage } from '../../../views/today/today.tsx';
import { type Answer, page, type Visit, wantsFragment } from '../../core/routes.ts';
import { today } from '../service.ts';
import { dueWords } from '../words.ts';

export async function showToday({ read, request, caller, now }: Visit): Promise<Answer> {
  const { kilns, safety, ware, buckets, fees } = await today(read);
  const things = {
    kilns,
    safety,
    ware,
    fees,
    buckets: buckets.map((due) => ({ due, words: dueWords(due, { units: caller.units, now }) })),
  };
  const list = wantsFragment(request) ? <DueList things={things} /> : <TodayPage things={things} />;
  return page('Today', 'today', list);
}
