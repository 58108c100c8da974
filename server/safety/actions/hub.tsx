import { HubPage, SafetyToDo } from '../../../views/safety/hub.tsx';
import { type Answer, page, type Visit, wantsFragment, watching } from '../../core/routes.ts';
import { asksFor, safetyDue } from '../service/due.ts';
import { listDuties } from '../service/duties.ts';
import { listLog } from '../service/log-read.ts';
import { logReader } from './log-reader.ts';

const OWN_OPEN = 5;

/** Where safety begins: what asks for whoever looks, and what they can do about it. */
export async function showHub(visit: Visit): Promise<Answer> {
  const reader = logReader(visit);
  const [asks, duties, due, { entries }] = await Promise.all([
    asksFor(visit.read),
    listDuties(visit.read),
    reader.keeps ? safetyDue(visit.read, { own: false }) : [],
    listLog(visit.read, { open: true, own: true, limit: OWN_OPEN }),
  ]);
  const waiting = {
    asks,
    duties: duties.filter(({ isMine, standing }) => isMine && standing.state !== 'done'),
    due,
    ownOpen: entries,
    reader,
  };
  const body = wantsFragment(visit.request) ? (
    <SafetyToDo {...waiting} />
  ) : (
    <HubPage {...waiting} isDone={visit.query.done === 'duty'} />
  );
  return watching(['safety'], page('Safety', 'safety', body));
}
