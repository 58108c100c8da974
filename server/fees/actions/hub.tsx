import { FeesHub, type OwnAccount } from '../../../views/fees/hub.tsx';
import { type Answer, page, type Visit } from '../../core/routes.ts';
import { studioDay } from '../../core/session.ts';
import { ownAccounts, standingOf } from '../service/accounts.ts';
import { listEntries } from '../service/entries.ts';
import { litresLeft } from '../service/included.ts';
import { tariffOn } from '../service/tariffs.ts';
import { feeReader } from './reader.ts';

const NEWEST = 5;

/** Where everybody sees what they owe and why, and whoever keeps the books goes on from. */
export async function showHub(visit: Visit): Promise<Answer> {
  const { read } = visit;
  const [accounts, today] = await Promise.all([ownAccounts(read), studioDay(read)]);
  const [own, list] = await Promise.all([
    Promise.all(
      accounts.map(async (account): Promise<OwnAccount> => {
        const [standing, newest, litres] = await Promise.all([
          standingOf(read, account),
          listEntries(read, { accountId: account.id, limit: NEWEST }),
          litresLeft(read, account),
        ]);
        return { account, standing, newest, litres };
      }),
    ),
    tariffOn(read, today),
  ]);
  return page('Fees', 'fees', <FeesHub own={own} list={list} reader={feeReader(visit)} />);
}
