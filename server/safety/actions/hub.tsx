import { HubPage } from '../../../views/safety/hub.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
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
  return page(
    'Safety',
    'safety',
    <HubPage
      asks={asks}
      duties={duties.filter(({ isMine, standing }) => isMine && standing.state !== 'done')}
      due={due}
      ownOpen={entries}
      isDone={visit.query.done === 'duty'}
      reader={reader}
    />,
  );
}
