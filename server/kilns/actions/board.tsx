import { BoardPage, KilnBoard } from '../../../views/kilns/board.tsx';
import { may } from '../../core/policy.ts';
import { type Answer, page, type Visit, wantsFragment, watching } from '../../core/routes.ts';
import { listKilns, showBoard } from '../service/index.ts';
import { loadReaderOf } from './load-reader.ts';

/** What every kiln is at this moment, and the ways to all else about kilns. */
export async function showKilns(visit: Visit): Promise<Answer> {
  const { role } = visit.caller;
  const mayEdit = may(role, 'kilns.edit');
  const [board, all] = await Promise.all([
    showBoard(visit.read),
    mayEdit ? listKilns(visit.read, { retired: true }) : [],
  ]);
  const props = {
    board,
    retired: all.filter(({ retiredAt }) => retiredAt !== null),
    reader: { ...loadReaderOf(visit), mayEdit, seesFaults: may(role, 'faults.see') },
  };
  const body = wantsFragment(visit.request) ? <KilnBoard {...props} /> : <BoardPage {...props} />;
  return watching(['kilns'], page('Kilns', 'kilns', body));
}
