import { DueList, TodayPage } from '../../../views/today/today.tsx';
import { type Answer, page, type Visit, wantsFragment, watching } from '../../core/routes.ts';
import { today } from '../service.ts';
import { dueWords } from '../words.ts';

export async function showToday({ read, request, caller, now }: Visit): Promise<Answer> {
  const { kilns, safety, ware, buckets, fees, mail } = await today(read);
  const things = {
    kilns,
    safety,
    ware,
    fees,
    mail,
    buckets: buckets.map((due) => ({ due, words: dueWords(due, { units: caller.units, now }) })),
  };
  const list = wantsFragment(request) ? <DueList things={things} /> : <TodayPage things={things} />;
  return watching(['today'], page('Today', 'today', list));
}
