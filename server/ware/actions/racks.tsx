import { RacksPage } from '../../../views/ware/racks.tsx';
import { may } from '../../core/policy.ts';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { listRacks, wareSettings } from '../service/index.ts';
import { readerOf } from './reader.ts';

/** What stands on the dry racks, and what of it can be dipped now. */
export async function showRacks(visit: Visit): Promise<Answer> {
  const everybody = visit.query.whose === 'everybody' && may(visit.caller.role, 'ware.see-all');
  const [racks, settings] = await Promise.all([
    listRacks(visit.read, { everybody }),
    wareSettings(visit.read),
  ]);
  return page(
    'Dry racks',
    'ware',
    <RacksPage
      racks={racks}
      everybody={everybody}
      all={visit.query.all === 'yes'}
      settings={settings}
      reader={readerOf(visit)}
    />,
  );
}
